package store

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"errors"
	"hash/crc32"
	"image"
	"image/jpeg"
	"image/png"
	"strings"
	"testing"
	"time"

	"noonmark/internal/base/problem"
)

// pngPicture makes a real picture.
func pngPicture(w, h int) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, w, h))); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// bomb is a PNG whose head says w by h and whose body is next to nothing.
func bomb(w, h uint32) []byte {
	b := pngPicture(1, 1)
	binary.BigEndian.PutUint32(b[16:], w)
	binary.BigEndian.PutUint32(b[20:], h)
	binary.BigEndian.PutUint32(b[29:], crc32.ChecksumIEEE(b[12:29]))
	return b
}

// The pictures for detection that the WebP project published: 1 by 1, lossy, lossless, with alpha. From memory.
var webps = []string{
	"UklGRiIAAABXRUJQVlA4IBYAAAAwAQCdASoBAAEADsD+JaQAA3AAAAAA",
	"UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA==",
	"UklGRkoAAABXRUJQVlA4WAoAAAAQAAAAAAAAAAAAQUxQSAwAAAARBxAR/Q9ERP8DAABWUDggGAAAABQBAJ0BKgEAAQAAAP4AAA3AAP7mtQAAAA==",
}

// The head of each kind of picture is read; other files, whatever they call themselves, are none.
func TestPictureHeader(t *testing.T) {
	var j bytes.Buffer
	if err := jpeg.Encode(&j, image.NewGray(image.Rect(0, 0, 31, 7)), nil); err != nil {
		t.Fatal(err)
	}
	good := map[string]struct {
		data []byte
		want header
	}{"jpeg": {j.Bytes(), header{"image/jpeg", 31, 7}}, "png": {pngPicture(5, 9), header{"image/png", 5, 9}},
		"vp8":  {riff("VP8 ", 0x10, 0, 0, 0x9d, 1, 0x2a, 0x96, 0x40, 0x67, 0), header{"image/webp", 150, 103}}, // the top two bits are a scale
		"vp8l": {riff("VP8L", 0x2f, 0x95, 0x80, 0x19, 0, 0, 0, 0, 0, 0), header{"image/webp", 150, 103}},
		"vp8x": {riff("VP8X", 0, 0, 0, 0, 0x95, 0, 0, 0x66, 0, 1), header{"image/webp", 150, 65639}}}
	for i, text := range webps {
		data, err := base64.StdEncoding.DecodeString(text)
		if err != nil {
			t.Fatal(err)
		}
		good[text] = struct {
			data []byte
			want header
		}{data, header{"image/webp", 1, 1}}
		if h, err := pictureHeader(data[:len(data)-1]); err == nil {
			t.Errorf("webp %d without its end: %v", i, h)
		}
	}
	for name, c := range good {
		if got, err := pictureHeader(c.data); err != nil || got != c.want {
			t.Errorf("%s: got %v, %v, want %v", name, got, err, c.want)
		}
	}
	for name, data := range map[string][]byte{"empty": nil, "text": []byte("noonmark: 1"), "page": []byte("<html><script>"), "svg": []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"),
		"gif": []byte("GIF89a\x01\x00\x01\x00\x00\x00\x00"), "png's name only": []byte("\x89PNG\r\n\x1a\n<html>"), "jpeg's name only": []byte("\xff\xd8\xff<html>"),
		"cut png": pngPicture(5, 5)[:20], "cut jpeg": j.Bytes()[:100], "riff": []byte("RIFF\x04\x00\x00\x00WAVE"), "unknown webp": riff("HTML", 1, 2, 3, 4, 5, 6, 7, 8, 9, 10),
		"no pixels": riff("VP8 ", 0x10, 0, 0, 0x9d, 1, 0x2a, 0, 0, 0, 0), "vp8 between": riff("VP8 ", 0x11, 0, 0, 0x9d, 1, 0x2a, 1, 0, 1, 0), "short webp": []byte("RIFF\x04\x00\x00\x00WEBP")} {
		if h, err := pictureHeader(data); err == nil {
			t.Errorf("%s passes as %v", name, h)
		}
	}
}

// riff makes a WebP container of one chunk.
func riff(chunk string, body ...byte) []byte {
	b := append([]byte("RIFF\x00\x00\x00\x00WEBP"+chunk+"\x0a\x00\x00\x00"), body...)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b)-8))
	return b
}

func FuzzPictureHeader(f *testing.F) {
	f.Add(pngPicture(2, 2))
	f.Add(bomb(60000, 60000))
	f.Add(riff("VP8L", 0x2f, 0, 0, 0, 0, 0, 0, 0, 0, 0))
	f.Fuzz(func(t *testing.T, data []byte) {
		h, err := pictureHeader(data)
		if err == nil && (h.kind == "" || h.width < 1 || h.height < 1) {
			t.Errorf("%v", h)
		}
	})
}

// Photographs are kept once by content, listed with their figures, read back, noted and removed.
func TestPhotos(t *testing.T) {
	s := fresh(t)
	for _, b := range []string{"van", "trailer"} {
		must(s.Add(ctx, b, draft("a: 1")))(t)
	}
	data, taken := pngPicture(40, 30), time.Date(2027, 5, 1, 8, 0, 0, 0, time.UTC)
	p := must(s.AddPhoto(ctx, "van", Photo{Name: "IMG (1).png", Note: "the front edge", At: taken, Data: data}))(t)
	again := must(s.AddPhoto(ctx, "van", Photo{Name: "IMG (1).png", Data: data}))(t)
	other := must(s.AddPhoto(ctx, "trailer", Photo{Name: "b.png", Data: data}))(t)
	if p.Kind != "image/png" || p.Width != 40 || p.Height != 30 || p.Size != len(data) || len(p.Hash) != 64 || p.Data != nil || !p.At.Equal(taken) {
		t.Errorf("got %+v", p)
	}
	if again.ID != p.ID || again.Note != "the front edge" || other.ID == p.ID {
		t.Errorf("the same picture: %+v, elsewhere %+v", again, other)
	}
	s = reopened(t, s)
	if got := must(s.Photo(ctx, p.ID))(t); !bytes.Equal(got.Data, data) || got.Build != "van" {
		t.Errorf("read back otherwise: %+v", got)
	}
	ok(t, s.NotePhoto(ctx, p.ID, "rear edge"))
	if l := must(s.Photos(ctx, "van"))(t); len(l) != 1 || l[0].Note != "rear edge" || l[0].Data != nil {
		t.Errorf("list %+v", l)
	}
	if r := whole(t, s); r.Photos != 2 {
		t.Errorf("report %+v", r)
	}
	ok(t, s.RemovePhoto(ctx, p.ID))
	if got := must(s.Photo(ctx, other.ID))(t); !bytes.Equal(got.Data, data) {
		t.Error("the picture went with the other build's photograph")
	}
	is(t, s.RemovePhoto(ctx, p.ID), ErrNotFound, "removed twice")
	is(t, s.NotePhoto(ctx, p.ID, ""), ErrNotFound, "note on none")
	is(t, second(s.Photo(ctx, p.ID)), ErrNotFound, "read")
	whole(t, s)
}

// Bombs, other files, large files and names with a path are refused, all problems at once.
func TestPhotoRefused(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	for want, p := range map[string]Photo{
		"60000 by 60000":          {Name: "a.png", Data: bomb(60000, 60000)},
		"30001 by 1":              {Name: "a.png", Data: bomb(30001, 1)},
		"10000 by 9000":           {Name: "a.png", Data: bomb(10000, 9000)},
		"JPEG, PNG":               {Name: "a.png", Data: []byte("<html>")},
		"at most 25 MB":           {Name: "a.png", Data: append(pngPicture(1, 1), make([]byte, LargestPhoto)...)},
		"../a.png":                {Name: "../a.png", Data: pngPicture(1, 1)},
		"<img src=x onerror=1>":   {Name: "<img src=x onerror=1>", Data: pngPicture(1, 1)},
		"a\\\\b.png":              {Name: `a\b.png`, Data: pngPicture(1, 1)},
		"note: a note of at most": {Name: "a/b", Note: strings.Repeat("x", 2001)},
	} {
		_, err := s.AddPhoto(ctx, "van", p)
		var bad *problem.Error
		if !errors.As(err, &bad) || !strings.Contains(bad.Error(), want) {
			t.Errorf("%s: got %v", want, err)
		}
	}
	is(t, second(s.AddPhoto(ctx, "nobody", Photo{Name: "a.png", Data: pngPicture(1, 1)})), ErrNotFound, "no such build")
	var n int
	ok(t, s.db.QueryRow("SELECT count(*) FROM picture").Scan(&n))
	if n != 0 {
		t.Errorf("%d pictures kept", n)
	}
}

// Records come back as they were sent; one sent twice with its key is kept once.
func TestRecords(t *testing.T) {
	s := fresh(t)
	must(s.Add(ctx, "van", draft("a: 1")))(t)
	at := time.Date(2027, 6, 1, 12, 0, 0, 0, time.UTC)
	reading := Record{Kind: "reading", Key: "phone-1", Name: "string lid", Form: "json", At: at, Data: []byte(`{"voc": "28.1 V", "isc": "4.4 A"}`)}
	r := must(s.AddRecord(ctx, "van", reading))(t)
	again := must(s.AddRecord(ctx, "van", reading))(t)
	log := must(s.AddRecord(ctx, "van", Record{Kind: "log", Form: "csv", Data: []byte("Zeit;Leistung\r\n1;2,5\r\n\xb0C\r\n")}))(t)
	must(s.AddRecord(ctx, "van", Record{Kind: "log", Form: "csv", Data: []byte("a,b\n")}))(t)
	if again.ID != r.ID || r.Size != len(reading.Data) || !r.At.Equal(at) || r.Data != nil {
		t.Errorf("got %+v then %+v", r, again)
	}
	reading.Data = []byte(`{"voc": "27 V"}`)
	is(t, second(s.AddRecord(ctx, "van", reading)), ErrExists, "the key with other data")
	s = reopened(t, s)
	if got := must(s.Record(ctx, log.ID))(t); string(got.Data) != "Zeit;Leistung\r\n1;2,5\r\n\xb0C\r\n" || got.Form != "csv" {
		t.Errorf("read back %+v", got)
	}
	if got := must(s.Record(ctx, r.ID))(t); !json.Valid(got.Data) || got.Name != "string lid" {
		t.Errorf("read back %+v", got)
	}
	if l := must(s.Records(ctx, "van", "reading"))(t); len(l) != 1 || l[0].Key != "phone-1" {
		t.Errorf("readings %+v", l)
	}
	if l := must(s.Records(ctx, "van", ""))(t); len(l) != 3 {
		t.Errorf("all %+v", l)
	}
	if rep := whole(t, s); rep.Records != 3 {
		t.Errorf("report %+v", rep)
	}
	ok(t, s.RemoveRecord(ctx, r.ID))
	is(t, s.RemoveRecord(ctx, r.ID), ErrNotFound, "removed twice")
	for want, bad := range map[string]Record{"JSON": {Kind: "reading", Form: "json", Data: []byte("{")}, "kind": {Kind: "A b", Form: "csv", Data: []byte("x")},
		"json or csv": {Kind: "log", Form: "exe", Data: []byte("x")}, "empty": {Kind: "log", Form: "csv"}, "name": {Kind: "log", Form: "csv", Name: "../x", Data: []byte("x")},
		"64 MB": {Kind: "log", Form: "csv", Data: make([]byte, LargestRecord+1)}, "key": {Kind: "log", Form: "csv", Key: "\n", Data: []byte("x")}} {
		var e *problem.Error
		if _, err := s.AddRecord(ctx, "van", bad); !errors.As(err, &e) || !strings.Contains(e.Error(), want) {
			t.Errorf("%s: got %v", want, err)
		}
	}
}
