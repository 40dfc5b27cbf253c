package diagnose

import (
	"math"
	"sort"

	"noonmark/internal/base/problem"
	"noonmark/internal/base/quantity"
	"noonmark/internal/build/build"
)

// Predicted is what a cause says of a reading beside what was read.
type Predicted struct {
	Reading  int // of the readings given
	Value    float64
	Over     bool
	Yes      quantity.Ratio // probability of a yes, for what is seen
	Distance float64        // reading less value, over the standard uncertainty
}

// Cause is a fault at a place with its probability.
type Cause struct {
	Fault       Fault
	Where       string
	Probability quantity.Ratio
	Size        string         // the likeliest size in words; may be empty
	Left        quantity.Ratio // of the module's power at this light; 1 where the cause is in no module
	LeftUnsure  quantity.Ratio // standard
	Predicted   []Predicted
}

// Verdict is how far the readings carry.
type Verdict int

const (
	CannotTell Verdict = iota
	Likely             // over 70 %
	Proven             // over 95 %, and the readings fit it
	NoneFits           // no listed cause fits the readings
)

// String returns the verdict in words.
func (v Verdict) String() string {
	return [...]string{"cannot tell yet", "likely", "proven as far as these readings go", "none of these fits"}[v]
}

// Answer is the causes ranked, and what to do next.
type Answer struct {
	Verdict  Verdict
	Causes   []Cause // by falling probability, down to 0.5 %; at least three
	Fit      quantity.Ratio
	Next     []Test // best first; empty when proven
	Alike    []int  // of Causes: those that these readings cannot tell from the first
	Overturn string // what would still overturn the first cause
	Light    quantity.Irradiance
	Cells    quantity.Temperature
}

// proven and likely are the probabilities a verdict wants: our own choice. A fit under misfit is no fit.
const (
	proven = 0.95
	likely = 0.70
	misfit = 2e-4
	// A reading farther than this from the first cause, in standard uncertainties, is not explained by it.
	far = 5
)

// group is a cause as it is ranked: a fault at a module, a string or the array.
type group struct {
	cause  Cause
	best   float64
	chain  *chain
	number int // of the chain
	node   int
	joints map[string]float64
}

// Session is a search that goes on: what was solved stays for the readings that follow.
type Session struct {
	build   *build.Build
	options Options
	plants  []*plant
	sound   []*core
	chains  []chain
	samples []sample
	given   []int // reading of each sample
	nu      nuisance
	weights [][]float64 // posterior of each node of each chain
	fits    [][]fit
	said    []opinion
	behind  [][]float64 // how far each node lay behind the best when last weighed, in the logarithm
	weighed int         // samples then
	warmer  []*core     // healthy, 5 K warmer
	dimmer  []*core     // healthy, at 0.9 of the light
}

// Run weighs what may be wrong with b's arrays by the readings; see Start.
func Run(b *build.Build, r []Reading, o Options) (*Answer, error) {
	s, err := Start(b, r, o)
	if err != nil {
		return nil, err
	}
	return s.Answer(), nil
}

// Start begins a search with b's arrays and the first readings. The light may be wrong by a factor of 1.6
// and the cells' temperature by 25 K; beyond, readings fit nothing. Problems of readings and options are
// returned together as *problem.Error; an error of a label's fit as it is.
func Start(b *build.Build, r []Reading, o Options) (*Session, error) {
	s := &Session{build: b, options: o}
	if err := s.prepare(r); err != nil {
		return nil, err
	}
	return s, nil
}

// Add takes a further reading.
func (s *Session) Add(r Reading) error {
	var ps problem.List
	sm, ok := s.resolve(&r, &ps)
	if !ok {
		return ps.Err()
	}
	s.follow(&sm)
	s.given = append(s.given, len(s.samples))
	s.samples = append(s.samples, sm)
	return nil
}

// Answer ranks the causes by the readings so far.
func (s *Session) Answer() *Answer {
	s.weighAll()
	return s.answer()
}

// prepare checks the input, makes plants and hypotheses.
func (s *Session) prepare(r []Reading) error {
	var ps problem.List
	o := &s.options
	if !(o.LightUnsure > 0) {
		o.LightUnsure = 3 * quantity.Percent
	}
	if !(o.CellsUnsure > 0) {
		o.CellsUnsure = 3 * quantity.OneKelvin
	}
	// Certainty beyond any instrument, and doubt beyond any use, are held.
	o.LightUnsure = quantity.Ratio(math.Max(0.001, math.Min(0.5, o.LightUnsure.Float())))
	o.CellsUnsure = quantity.TempDiff(math.Max(0.1, math.Min(30, o.CellsUnsure.Kelvins())))
	if g := o.Light.WattsPerSquareMetre(); !(g >= 50 && g <= 1500) {
		ps.Addf("light", "wanted between 50 and 1500 W/m²: in less nothing can be told")
	}
	if t := o.Cells.Celsius(); !(t >= -40 && t <= 110) {
		ps.Addf("cells", "wanted between -40 and 110 °C")
	}
	if len(r) == 0 {
		ps.Addf("readings", "wanted at least one reading")
	}
	if v := o.Battery.Volts(); v != 0 && !s.ofBattery(v) {
		ps.Addf("battery", "wanted between %.3g and %.3g V, 60 to 140 %% of its nominal volts", 0.6*s.build.Battery.Voltage.Volts(), 1.4*s.build.Battery.Voltage.Volts())
	}
	modules := 0
	for i := range s.build.Chargers {
		for _, st := range s.build.Chargers[i].Strings {
			modules += len(s.build.Strings[st].Modules)
		}
	}
	if modules == 0 {
		ps.Addf("strings", "wanted a charger with at least one module on it")
	}
	for k := range r {
		if sm, ok := s.resolve(&r[k], &ps); ok {
			s.samples = append(s.samples, sm)
			s.given = append(s.given, k)
			if r[k].Kind == BatteryVoltage && o.Battery <= 0 && !r[k].Over && s.ofBattery(r[k].Value) {
				o.Battery = quantity.Voltage(r[k].Value)
			}
		}
	}
	if ps.Len() > 0 {
		return ps.Err()
	}
	if o.Battery <= 0 {
		o.Battery = s.build.Battery.Voltage
	}
	given := o.Light
	if err := s.plant(); err != nil {
		return err
	}
	if o.LightUnsure > 0.08 { // start where the currents say
		if g := s.guessLight(); g > 0 {
			o.Light = quantity.Irradiance(g)
			if err := s.plant(); err != nil {
				return err
			}
		}
	}
	s.nu = nuisance{light: o.LightUnsure.Float(), warm: o.CellsUnsure.Kelvins(), offset: math.Log(given.WattsPerSquareMetre() / o.Light.WattsPerSquareMetre())}
	for i := range s.plants {
		if s.plants[i] == nil {
			continue
		}
		n := 0
		for _, l := range s.plants[i].lines {
			n += len(l)
		}
		s.chains = append(s.chains, hypotheses(s.plants[i], i, s.sound[i], float64(n)/float64(modules))...)
	}
	s.chains = append(s.chains, s.none())
	for j := range s.samples {
		s.follow(&s.samples[j])
	}
	return nil
}

// ofBattery reports whether volts may be those of the build's battery: 60 to 140 % of its nominal ones.
func (s *Session) ofBattery(volts float64) bool {
	n := s.build.Battery.Voltage.Volts()
	return volts > 0.6*n && volts < 1.4*n
}

// plant makes the plants at the options' light and temperature, and two more beside for the slopes.
func (s *Session) plant() error {
	n := len(s.build.Chargers)
	s.plants, s.sound, s.warmer, s.dimmer = make([]*plant, n), make([]*core, n), make([]*core, n), make([]*core, n)
	for i := range s.build.Chargers {
		empty := true
		for _, st := range s.build.Chargers[i].Strings {
			empty = empty && len(s.build.Strings[st].Modules) == 0
		}
		if empty {
			continue
		}
		p, err := newPlant(s.build, i, s.options)
		if err != nil {
			return err
		}
		warm, dim := *p, *p
		warm.warm = p.warm.Add(5 * quantity.OneKelvin)
		dim.light *= 0.9
		s.plants[i], s.sound[i] = p, newCore(p, p.healthy)
		s.warmer[i], s.dimmer[i] = newCore(&warm, p.healthy), newCore(&dim, p.healthy)
	}
	return nil
}

// follow sets how a sample's value follows light and temperature, and its scale, from the healthy array.
func (s *Session) follow(sm *sample) {
	f := &facts[sm.key.kind]
	sm.scale = f.floor
	if sm.key.kind.ohmic() {
		sm.scale = 10
		return
	}
	v, ok := s.sound[sm.key.unit].electric(sm.key)
	if !ok {
		return
	}
	sm.scale = math.Max(f.floor, math.Abs(v))
	if v == 0 {
		sm.light, sm.warm = 1, -0.003
		if f.unit == "A" {
			sm.warm = 0
		}
		return
	}
	w, _ := s.warmer[sm.key.unit].electric(sm.key)
	d, _ := s.dimmer[sm.key.unit].electric(sm.key)
	sm.warm = math.Max(-0.02, math.Min(0.02, (w/v-1)/5))
	sm.light = math.Max(0, math.Min(1.5, (d/v-1)/math.Log(0.9)))
}

// guessLight returns the light that the upper third of the currents begins at, 0 where none was read: faults
// take current away, and give none.
func (s *Session) guessLight() float64 {
	var ratios []float64
	for j := range s.samples {
		sm := &s.samples[j]
		if facts[sm.key.kind].unit != "A" || sm.over {
			continue
		}
		if v, ok := s.sound[sm.key.unit].electric(sm.key); ok && v > 0 && sm.value > 0.05*v {
			ratios = append(ratios, sm.value/v)
		}
	}
	if len(ratios) == 0 {
		return 0
	}
	sort.Float64s(ratios)
	g := s.options.Light.WattsPerSquareMetre()
	return math.Max(50, math.Min(1400, g*ratios[(len(ratios)-1)*2/3]))
}

// hopeless is how far, in the logarithm, a node may lie behind the best by the readings at rest before its
// working array is not solved at all: two or three readings that contradict it.
const hopeless = 20

// weighAll weighs every node, and makes the posterior. Readings at rest are cheap and go first.
func (s *Session) weighAll() {
	var rest, all []int
	for j := range s.samples {
		all = append(all, j)
		if !works(s.samples[j].key.kind) {
			rest = append(rest, j)
		}
	}
	s.weights, s.fits = make([][]float64, len(s.chains)), make([][]fit, len(s.chains))
	said := make([]opinion, len(s.chains))
	best := math.Inf(-1)
	for i := range s.chains {
		c := &s.chains[i]
		said[i] = newOpinion(len(c.nodes), len(s.samples))
		s.weights[i], s.fits[i] = make([]float64, len(c.nodes)), make([]fit, len(c.nodes))
		for n := range c.nodes {
			if !s.gone(i, n-1) || !s.gone(i, n) || !s.gone(i, n+1) {
				s.ask(c, n, &said[i], rest)
			}
		}
		s.slopes(c, &said[i], rest)
		for n := range c.nodes {
			if s.gone(i, n) {
				s.weights[i][n] = math.Inf(-1)
				continue
			}
			s.weights[i][n] = s.judge(c, &said[i], n, rest).log + math.Log(c.prior/float64(len(c.nodes)))
			best = math.Max(best, s.weights[i][n])
		}
	}
	top := math.Inf(-1)
	after := make([][]float64, len(s.chains))
	for i := range s.chains {
		c := &s.chains[i]
		alive := func(n int) bool {
			return n >= 0 && n < len(c.nodes) && (c.fault == NoneOfThese || s.weights[i][n] > best-hopeless)
		}
		asked := make([]bool, len(c.nodes))
		for n := range c.nodes {
			if asked[n] = alive(n-1) || alive(n) || alive(n+1); asked[n] {
				s.ask(c, n, &said[i], all)
			}
		}
		s.slopes(c, &said[i], all)
		for n := range c.nodes {
			log := math.Inf(-1)
			if alive(n) {
				s.fits[i][n] = s.judge(c, &said[i], n, all)
				log = s.fits[i][n].log + math.Log(c.prior/float64(len(c.nodes)))
			}
			top = math.Max(top, log)
			after[i] = append(after[i], log)
		}
	}
	behind := make([][]float64, len(s.chains))
	for i := range behind {
		behind[i] = make([]float64, len(after[i]))
		for n := range behind[i] {
			switch {
			case s.gone(i, n):
				behind[i][n] = s.behind[i][n] - regain*float64(len(s.samples)-s.weighed)
			case math.IsInf(after[i][n], -1):
				behind[i][n] = best - s.weights[i][n]
			default:
				behind[i][n] = top - after[i][n]
			}
		}
	}
	s.behind, s.weighed = behind, len(s.samples)
	s.said, s.weights = said, after
	sum := 0.0
	for i := range s.weights {
		for n := range s.weights[i] {
			s.weights[i][n] = math.Exp(s.weights[i][n] - top)
			sum += s.weights[i][n]
		}
	}
	for i := range s.weights {
		for n := range s.weights[i] {
			s.weights[i][n] /= sum
		}
	}
}

// regain is the most that one further reading can bring a node nearer to the best, in the logarithm: a reading
// that fits it to the meter's last digits, and is a slip for the best.
const regain = 12

// gone reports whether a node lay so far behind when last weighed that the readings since cannot bring it
// back. What lies outside its chain is gone.
func (s *Session) gone(i, n int) bool {
	if n < 0 || n >= len(s.chains[i].nodes) {
		return true
	}
	return s.behind != nil && s.chains[i].fault != NoneOfThese && s.behind[i][n] > hopeless+regain*float64(len(s.samples)-s.weighed)
}

// works reports whether a kind of reading needs the working or the whole array solved.
func works(k Kind) bool {
	switch k {
	case WorkVoltage, WorkCurrent, StringCurrent, ModuleVoltage, JointDrop, BatteryCurrent, BoxWarmer, ArrayOpen, ArrayShort:
		return true
	}
	return false
}

// opinion is what the nodes of a chain say of the samples, and the slopes by size.
type opinion struct {
	said  [][]forecastOf
	slope [][]float64
	width float64
}

func newOpinion(nodes, samples int) opinion {
	o := opinion{said: make([][]forecastOf, nodes), slope: make([][]float64, nodes)}
	for n := range nodes {
		o.said[n], o.slope[n] = make([]forecastOf, samples), make([]float64, samples)
	}
	return o
}

// ask has a node say what some samples read.
func (s *Session) ask(c *chain, n int, o *opinion, which []int) {
	for _, j := range which {
		o.said[n][j] = s.say(c, n, s.samples[j].key)
	}
}

// slopes sets how some samples follow the size, and the size's standard width in a node.
func (s *Session) slopes(c *chain, o *opinion, which []int) {
	if len(c.nodes) < 2 {
		return
	}
	o.width = 0.5 * math.Abs(c.nodes[1].size-c.nodes[0].size)
	for n := range c.nodes {
		a, b := max(0, n-1), min(len(c.nodes)-1, n+1)
		d := c.nodes[b].size - c.nodes[a].size
		for _, j := range which {
			o.slope[n][j] = (expected(&s.samples[j], &o.said[b][j]) - expected(&s.samples[j], &o.said[a][j])) / d
		}
	}
}

// judge weighs some samples for a node.
func (s *Session) judge(c *chain, o *opinion, n int, which []int) fit {
	sm, f, sl := s.samples, o.said[n], o.slope[n]
	if len(which) < len(s.samples) {
		sm, f, sl = nil, nil, nil
		for _, j := range which {
			sm, f, sl = append(sm, s.samples[j]), append(f, o.said[n][j]), append(sl, o.slope[n][j])
		}
	}
	if c.fault == NoneOfThese {
		return weigh(sm, f, sl, o.width, s.nu, anything)
	}
	return weigh(sm, f, sl, o.width, s.nu, slip)
}

// anything is how often "none of these" takes a reading to be anything.
const anything = 0.45

// none is the chain of "none of these": the healthy array, readings of which may be anything.
func (s *Session) none() chain {
	c := chain{fault: NoneOfThese, line: -1, index: -1, prior: causes[NoneOfThese].prior}
	for u := range s.sound {
		if s.sound[u] != nil {
			c.unit = u
			c.nodes = []node{{core: s.sound[u]}}
			break
		}
	}
	return c
}

// say returns what a node says of a key: another charger's array is healthy.
func (s *Session) say(c *chain, n int, k key) forecastOf {
	if k.unit != c.unit && facts[k.kind].at != ofAll {
		x := node{core: s.sound[k.unit]}
		x.mistaken, x.amps, x.volts, x.over = c.nodes[n].mistaken, c.nodes[n].amps, c.nodes[n].volts, c.nodes[n].over
		return x.predict(&chain{unit: -1, line: -1, index: -1}, k)
	}
	return c.nodes[n].predict(c, k)
}
