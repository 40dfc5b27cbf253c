package climate

import (
	"math"
	"sync"
)

// The library of ten Markov matrices of daily clearness, in thousandths: from each of ten equal
// states between least and most to each state of the next day.
//
// Source: Aguiar, Collares-Pereira & Conde 1988, Solar Energy 40:269, from a public transcription;
// matrix 5, row 2, column 9 is 53, a misprint of 530 being put right, and row 2 of matrix 10 is a
// filler. Rows sum to 1000 within 2; drawing divides by the sum.
type matrix struct {
	upTo        float64 // the matrix serves months of mean clearness up to this
	least, most float64
	next        [10][10]float64
}

var matrices = [10]matrix{
	{0.30, 0.031, 0.705, [10][10]float64{
		{229, 333, 208, 42, 83, 42, 42, 21, 0, 0},
		{167, 319, 194, 139, 97, 28, 42, 0, 14, 0},
		{250, 250, 91, 136, 91, 46, 46, 23, 68, 0},
		{158, 237, 158, 263, 26, 53, 79, 26, 0, 0},
		{211, 53, 211, 158, 53, 53, 158, 105, 0, 0},
		{125, 125, 250, 188, 63, 125, 0, 125, 0, 0},
		{40, 240, 80, 120, 80, 80, 120, 120, 80, 40},
		{0, 250, 0, 125, 0, 125, 125, 250, 63, 63},
		{0, 250, 0, 125, 250, 0, 250, 0, 0, 125},
		{0, 0, 0, 0, 0, 0, 500, 250, 0, 250},
	}},
	{0.35, 0.058, 0.694, [10][10]float64{
		{0, 0, 91, 0, 364, 91, 182, 0, 273, 0},
		{118, 118, 176, 118, 59, 118, 176, 59, 59, 0},
		{67, 267, 67, 200, 67, 0, 133, 133, 0, 67},
		{118, 235, 0, 235, 59, 176, 118, 0, 59, 0},
		{77, 154, 308, 77, 154, 77, 0, 77, 77, 0},
		{83, 0, 167, 250, 83, 167, 0, 83, 167, 0},
		{222, 222, 0, 111, 111, 0, 111, 222, 0, 0},
		{91, 182, 273, 0, 91, 273, 0, 91, 0, 0},
		{111, 111, 111, 222, 0, 0, 0, 222, 111, 111},
		{0, 0, 0, 0, 0, 0, 500, 0, 0, 500},
	}},
	{0.40, 0.051, 0.753, [10][10]float64{
		{206, 88, 176, 176, 88, 29, 176, 29, 29, 0},
		{120, 100, 140, 160, 120, 220, 100, 0, 20, 20},
		{77, 123, 185, 123, 77, 139, 92, 123, 61, 0},
		{48, 111, 95, 206, 206, 190, 95, 48, 0, 0},
		{59, 137, 118, 137, 98, 118, 118, 157, 59, 0},
		{14, 97, 139, 153, 125, 139, 208, 56, 42, 28},
		{73, 101, 116, 145, 87, 159, 203, 87, 29, 0},
		{19, 37, 111, 56, 74, 111, 185, 296, 74, 37},
		{35, 69, 35, 0, 35, 103, 172, 138, 379, 35},
		{0, 167, 167, 0, 167, 0, 0, 333, 0, 167},
	}},
	{0.45, 0.052, 0.753, [10][10]float64{
		{167, 167, 167, 0, 83, 125, 0, 167, 125, 0},
		{117, 117, 150, 117, 83, 117, 200, 67, 17, 17},
		{49, 85, 134, 158, 98, 110, 134, 134, 61, 37},
		{39, 90, 141, 141, 167, 141, 90, 141, 39, 13},
		{9, 139, 74, 93, 194, 139, 167, 93, 74, 19},
		{36, 18, 117, 99, 144, 180, 180, 117, 72, 36},
		{0, 46, 61, 61, 136, 159, 273, 167, 98, 0},
		{16, 56, 80, 128, 104, 80, 160, 208, 136, 32},
		{11, 53, 21, 43, 128, 96, 74, 223, 277, 74},
		{0, 74, 37, 0, 74, 74, 74, 74, 333, 259},
	}},
	{0.50, 0.028, 0.807, [10][10]float64{
		{120, 200, 160, 120, 120, 120, 80, 0, 40, 40},
		{100, 80, 120, 140, 140, 200, 180, 40, 53, 0},
		{46, 114, 68, 171, 125, 171, 80, 159, 57, 11},
		{15, 61, 84, 99, 191, 153, 153, 115, 115, 15},
		{24, 30, 98, 98, 165, 195, 195, 140, 43, 12},
		{15, 26, 62, 124, 144, 170, 170, 222, 62, 5},
		{0, 13, 45, 108, 112, 175, 188, 224, 117, 18},
		{8, 23, 54, 66, 93, 125, 191, 253, 183, 4},
		{6, 22, 61, 33, 67, 83, 139, 222, 322, 44},
		{0, 46, 91, 91, 46, 46, 136, 91, 273, 182},
	}},
	{0.55, 0.053, 0.856, [10][10]float64{
		{250, 179, 107, 107, 143, 71, 107, 36, 0, 0},
		{133, 22, 89, 111, 156, 178, 111, 133, 67, 0},
		{64, 48, 143, 48, 175, 143, 206, 95, 79, 0},
		{0, 22, 78, 111, 156, 156, 244, 167, 44, 22},
		{16, 27, 37, 69, 160, 219, 230, 160, 75, 5},
		{13, 25, 30, 93, 144, 202, 215, 219, 55, 4},
		{6, 41, 35, 64, 90, 180, 337, 192, 49, 6},
		{12, 21, 29, 35, 132, 123, 184, 371, 82, 12},
		{8, 16, 16, 24, 71, 103, 159, 270, 309, 24},
		{0, 0, 0, 0, 59, 0, 59, 294, 412, 176},
	}},
	{0.60, 0.044, 0.818, [10][10]float64{
		{217, 87, 0, 174, 130, 87, 87, 130, 87, 0},
		{26, 79, 132, 79, 26, 158, 158, 132, 158, 53},
		{20, 20, 20, 40, 160, 180, 160, 200, 100, 100},
		{25, 13, 38, 76, 76, 139, 139, 266, 215, 13},
		{30, 30, 50, 20, 91, 131, 162, 283, 131, 71},
		{6, 6, 13, 57, 57, 121, 204, 287, 185, 64},
		{4, 26, 37, 30, 93, 107, 193, 307, 167, 37},
		{11, 9, 14, 42, 41, 71, 152, 418, 203, 41},
		{12, 22, 22, 38, 19, 50, 113, 281, 360, 84},
		{8, 24, 39, 39, 63, 39, 118, 118, 284, 268},
	}},
	{0.65, 0.085, 0.846, [10][10]float64{
		{67, 133, 133, 67, 67, 200, 133, 133, 67, 0},
		{118, 59, 59, 59, 59, 118, 118, 235, 118, 59},
		{0, 24, 24, 49, 146, 73, 195, 244, 195, 49},
		{26, 0, 26, 26, 53, 184, 263, 184, 237, 0},
		{14, 0, 42, 56, 69, 97, 139, 306, 278, 0},
		{9, 9, 52, 69, 52, 112, 215, 285, 138, 60},
		{9, 9, 26, 17, 94, 99, 232, 283, 210, 21},
		{10, 14, 16, 19, 27, 62, 163, 467, 202, 19},
		{4, 7, 31, 17, 33, 50, 86, 252, 469, 50},
		{0, 0, 15, 46, 31, 46, 77, 123, 446, 215},
	}},
	{0.70, 0.010, 0.842, [10][10]float64{
		{0, 0, 0, 0, 0, 0, 0, 0, 1000, 0},
		{0, 0, 0, 0, 0, 0, 0, 0, 1000, 0},
		{0, 0, 0, 0, 0, 0, 250, 250, 500, 0},
		{0, 0, 0, 0, 250, 0, 0, 375, 250, 125},
		{0, 0, 0, 83, 0, 167, 167, 250, 333, 0},
		{0, 0, 42, 42, 42, 83, 83, 292, 292, 125},
		{0, 0, 32, 0, 0, 32, 129, 387, 355, 65},
		{0, 0, 0, 38, 38, 75, 47, 340, 415, 47},
		{4, 4, 7, 7, 11, 30, 52, 141, 654, 89},
		{0, 0, 0, 0, 61, 61, 30, 30, 349, 470},
	}},
	{1.00, 0.319, 0.865, [10][10]float64{
		{0, 0, 0, 0, 0, 0, 0, 0, 1000, 0},
		{100, 100, 100, 100, 100, 100, 100, 100, 100, 100},
		{0, 0, 0, 250, 0, 0, 0, 500, 250, 0},
		{0, 0, 143, 143, 0, 143, 143, 429, 0, 0},
		{0, 0, 0, 200, 0, 0, 200, 400, 200, 0},
		{0, 0, 0, 0, 0, 0, 222, 444, 333, 0},
		{0, 0, 0, 0, 80, 80, 80, 480, 240, 40},
		{0, 0, 27, 9, 27, 18, 135, 523, 252, 9},
		{0, 0, 0, 22, 0, 43, 43, 326, 511, 54},
		{0, 0, 0, 143, 0, 0, 0, 143, 714, 0},
	}},
}

// chain is a matrix ready to draw from.
type chain struct {
	matrix
	row        [10]float64 // sum of each row
	stationary [10]float64 // how often each state comes in the long run, sums to 1
	sd         float64     // of a day's clearness in the long run
}

// library returns the ten chains, made at the first call.
var library = sync.OnceValue(func() *[10]chain {
	var all [10]chain
	for k := range all {
		c := &all[k]
		c.matrix = matrices[k]
		for i, r := range c.next {
			for _, p := range r {
				c.row[i] += p
			}
			c.stationary[i] = 0.1
		}
		for range 400 { // power iteration; the second eigenvalue is below 0.7
			var s [10]float64
			for i, r := range c.next {
				for j, p := range r {
					s[j] += c.stationary[i] * p / c.row[i]
				}
			}
			c.stationary = s
		}
		c.sd = c.deviation()
	}
	return &all
})

// chainOf returns the chain for a month of mean clearness k.
func chainOf(k float64) *chain {
	all := library()
	for i := range all {
		if k <= all[i].upTo {
			return &all[i]
		}
	}
	return &all[9]
}

// mean returns the long-run mean of u^g, u being the place of a day between least and most.
func (c *chain) mean(g float64) float64 {
	sum, below := 0.0, 0.0
	for i, p := range c.stationary {
		above := math.Pow(float64(i+1)/10, g+1)
		sum += p * (above - below)
		below = above
	}
	return 10 * sum / (g + 1)
}

// deviation returns the standard deviation of a day's clearness in the long run.
func (c *chain) deviation() float64 {
	m, m2 := c.mean(1), c.mean(2)
	return (c.most - c.least) * math.Sqrt(max(m2-m*m, 0))
}

// exponent returns the g for which the long-run mean of least + (most-least)·u^g is k, and the
// factor that makes up for what is out of reach of g between 1/8 and 8, 1 for all months within
// 0.05 of the matrix's own clearness. Accuracy: the mean is k within 1e-4.
func (c *chain) exponent(k float64) (g, factor float64) {
	want := (k - c.least) / (c.most - c.least)
	lo, hi := math.Log(1.0/8), math.Log(8) // the mean falls with g
	flo, fhi := c.mean(1.0/8)-want, c.mean(8)-want
	if flo <= 0 || fhi >= 0 {
		g = 8
		if flo <= 0 {
			g = 1.0 / 8
		}
		return g, max(k, 0) / (c.least + (c.most-c.least)*c.mean(g))
	}
	x := 0.0
	for range 30 { // false position, Illinois variant
		x = (lo*fhi - hi*flo) / (fhi - flo)
		f := c.mean(math.Exp(x)) - want
		if math.Abs(f) < 1e-4 {
			break
		}
		if f > 0 {
			lo, flo, fhi = x, f, fhi/2
		} else {
			hi, fhi, flo = x, f, flo/2
		}
	}
	return math.Exp(x), 1
}
