package web

import (
	"regexp"
	"slices"
	"strings"

	"noonmark/internal/answer/check"
	"noonmark/internal/build/build"
	"noonmark/internal/edge/buildfile"
	"noonmark/internal/sheet/sheet"
)

// missingView is a value that a rule waits for, to type where the rule stands.
type missingView struct {
	Rule    string // "struts cold, surface lid"
	Key     string
	Doc     string
	Example string
	At      string // its path
	Find    string // how it is found
}

// keyWords finds the keys that a rule names as missing: "(ribs)", "(bags: 0 kg when none)", "(loop_radius, diameter)".
var keyWords = regexp.MustCompile(`\(([a-z_.]+(?:, [a-z_.]+)*)(?::[^)]*)?\)`)

// mostMissing is how many are asked for on a sheet.
const mostMissing = 24

// missingOf returns the values that the unknown rules of a sheet wait for, each once, with its place in the
// text where it has just one.
func missingOf(b *build.Build, text []byte, findings []check.Finding, key string) []missingView {
	absent := map[string][]buildfile.Field{}
	for _, g := range buildfile.Fields(text, everySection...) {
		for _, f := range g.Fields {
			if len(f.Texts) == 0 {
				last := f.Path[len(f.Path)-1]
				absent[last] = append(absent[last], f)
			}
		}
	}
	cables := cablesOf(b)
	var out []missingView
	seen := map[string]bool{}
	for _, f := range findings {
		if f.Verdict != check.Unknown || sheet.SheetOf(f.ID) != key {
			continue
		}
		words, find, _ := strings.Cut(f.Reason, "to find it:")
		if !strings.Contains(words, "missing") {
			continue
		}
		for _, m := range keyWords.FindAllStringSubmatch(words, -1) {
			for k := range strings.SplitSeq(m[1], ", ") {
				x, ok := placeOfMissing(absent, cables, f, k)
				if !ok || seen[joinPath(x.Path...)] || len(out) == mostMissing {
					continue
				}
				seen[joinPath(x.Path...)] = true
				out = append(out, missingView{Rule: strings.ReplaceAll(f.ID, "-", " ") + ", " + f.Subject, Key: strings.ReplaceAll(x.Key, "_", " "), Doc: x.Doc, Example: x.Example, At: joinPath(x.Path...), Find: strings.TrimSpace(find)})
			}
		}
	}
	return out
}

// placeOfMissing finds the field of a key: in the thing that the rule names.
func placeOfMissing(absent map[string][]buildfile.Field, cables map[string][]string, f check.Finding, key string) (buildfile.Field, bool) {
	last := key[strings.LastIndexByte(key, '.')+1:]
	var fit []buildfile.Field
	for _, x := range absent[last] {
		switch at := cables[strings.TrimPrefix(f.Subject, "cable ")]; {
		case strings.Contains(key, "."):
			if strings.HasSuffix(strings.Join(x.Path, "."), key) {
				fit = append(fit, x)
			}
		case at != nil:
			if len(x.Path) == len(at)+1 && slices.Equal(x.Path[:len(at)], at) {
				fit = append(fit, x)
			}
		case len(x.Path) == 2 || strings.Contains(f.Subject+" "+f.Reason, x.Path[1]):
			fit = append(fit, x)
		}
	}
	if len(fit) == 0 {
		return buildfile.Field{}, false
	}
	return fit[0], true
}
