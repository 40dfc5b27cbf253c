package cli

import (
	"fmt"
	"io"
	"strings"

	"noonmark/internal/base/quantity"
)

// formatHeight prints a height above the sea.
func formatHeight(h quantity.Length) string { return fmt.Sprintf("%.0f m above the sea", h.Metres()) }

// printAssumed lists what the user did not give.
func printAssumed(w io.Writer, list []assumption) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintln(w, "\nAssumed:")
	for _, a := range list {
		line := fmt.Sprintf("  %s: %s", a.What, a.Value)
		if a.Why != "" {
			line += " — " + a.Why
		}
		if a.Source != "" {
			line += " [" + a.Source + "]"
		}
		fmt.Fprintln(w, line)
	}
}

// bar draws share (0..1) as a bar of n columns.
func bar(share float64, n int) string {
	full := int(share*float64(n) + 0.5)
	full = max(0, min(n, full))
	return strings.Repeat("█", full) + strings.Repeat("·", n-full)
}
