package parts

import (
	"testing"

	"noonmark/internal/base/cite"
	"noonmark/internal/testkit"
)

// Source: trade handbook B7, cable support on a windblown roof every 150 to 300 mm, common practice.
func TestClips(t *testing.T) {
	b := van() // 4 m on the roof
	clips := find(Of(b), "cable clip")
	if len(clips) != 1 {
		t.Fatal(clips)
	}
	testkit.Published(t, 4000/clips[0].Number, testkit.Check{What: "roof cable for each clip bought, mm",
		Source: cite.Source{Title: "cable support on a roof in the wind", Where: "trade handbook B7", Standing: cite.CommonPractice}, Want: 225, Tol: 75, Why: "the source gives 150 to 300 mm"})
}
