package diagnose

import (
	"os"
	"strconv"
	"testing"
)

func TestTune(t *testing.T) {
	seed, err := strconv.ParseUint(os.Getenv("TUNE"), 10, 64)
	if err != nil {
		t.Skip("for tuning only")
	}
	n, _ := strconv.Atoi(os.Getenv("CASES"))
	k, _ := strconv.Atoi(os.Getenv("TESTS"))
	o := study(t, seed, n, k)
	o.report(t)
	for _, s := range o.notes {
		t.Log(s)
	}
}
