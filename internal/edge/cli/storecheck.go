package cli

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"noonmark/internal/base/problem"
	"noonmark/internal/edge/store"
)

func storeCompare(s *Streams) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   "compare NAME FROM [TO]",
		Short: "what differs between two revisions, in values and in lines",
		Long: `Revisions are numbers or tags; TO is the current one unless given.

  noonmark store compare van 3
  noonmark store compare van "as built" 7`,
		Args: between(2, 3, "a name and one or two revisions"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				from, to, c, err := st.Compare(cmd.Context(), strings.TrimPrefix(args[0], inStore), args[1], append(args, "")[2])
				if err != nil {
					return err
				}
				if asJSON {
					lines, values := make([]lineJSON, 0, len(c.Lines)), make([]valueJSON, 0, len(c.Values))
					for _, l := range c.Lines {
						lines = append(lines, lineJSON{l.Added, l.Number, l.Text})
					}
					for _, v := range c.Values {
						values = append(values, valueJSON{v.Path, v.Was, v.Is})
					}
					return writeJSON(s.Out, map[string]any{"build": from.Build, "from": from.Number, "to": to.Number, "values": values, "lines": lines})
				}
				printComparison(s, from, to, c)
				return nil
			})
		},
	}, &asJSON)
}

// printComparison prints the changed values, then the changed lines with their numbers.
func printComparison(s *Streams, from, to store.Revision, c store.Comparison) {
	fmt.Fprintf(s.Out, "%s, revision %d against %d\n", from.Build, from.Number, to.Number)
	if len(c.Lines) == 0 {
		fmt.Fprintln(s.Out, "No line differs.")
		return
	}
	text := func(v *string) string {
		if v == nil {
			return "(not there)"
		}
		return *v
	}
	for _, v := range c.Values {
		fmt.Fprintf(s.Out, "  %s: %s → %s\n", v.Path, text(v.Was), text(v.Is))
	}
	fmt.Fprintln(s.Out)
	for _, l := range c.Lines {
		sign := "-"
		if l.Added {
			sign = "+"
		}
		fmt.Fprintf(s.Out, "%s %4d  %s\n", sign, l.Number, l.Text)
	}
}

func storeBackup(s *Streams) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   "backup FILE",
		Short: "the whole store in a new file, while it is in use",
		Long: `The copy is checked before it gets its name. It is a store itself: --data opens it. To go back to it,
end every noonmark, and put it in the store's place without the -wal and -shm files beside that.

  noonmark store backup van-2027-06.db`,
		Args: exactly(1, "one new file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				size, err := st.Backup(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				if asJSON {
					return writeJSON(s.Out, map[string]any{"store": st.Path(), "file": args[0], "bytes": size})
				}
				fmt.Fprintf(s.Out, "%s is written and checked, %d kB.\n", args[0], (size+1023)>>10)
				return nil
			})
		},
	}, &asJSON)
}

func storeCheck(s *Streams) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   "check",
		Short: "read the whole store and say what is damaged",
		Long: `The database's own check, then every text, photograph and record against its hash. Exit code 2: damaged.

  noonmark store check`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				r, err := st.Check(cmd.Context())
				if err != nil {
					return err
				}
				if asJSON {
					faults := make([]faultJSON, 0, len(r.Faults))
					for _, f := range r.Faults {
						faults = append(faults, faultJSON{f.Build, f.Revision, problemTexts(f.Problems)})
					}
					err = writeJSON(s.Out, map[string]any{"store": st.Path(), "version": r.Version, "builds": r.Builds, "revisions": r.Revisions, "photographs": r.Photos,
						"records": r.Records, "damage": append([]string{}, r.Damage...), "faults": faults})
				} else {
					printReport(s, st.Path(), r)
				}
				if err == nil && len(r.Damage) > 0 {
					err = fmt.Errorf("%s: %w", st.Path(), store.ErrDamaged)
				}
				return err
			})
		},
	}, &asJSON)
}

// problemTexts returns problems as lines.
func problemTexts(list []problem.Problem) []string {
	out := make([]string, 0, len(list))
	for _, p := range list {
		out = append(out, p.String())
	}
	return out
}

func printReport(s *Streams, path string, r store.Report) {
	fmt.Fprintf(s.Out, "%s: %s, %s, %s, %s; version %d of the file.\n", path, count(r.Builds, "build"), count(r.Revisions, "revision"), count(r.Photos, "photograph"),
		count(r.Records, "record"), r.Version)
	for _, d := range r.Damage {
		fmt.Fprintln(s.Out, "  damaged: "+d)
	}
	for _, f := range r.Faults {
		fmt.Fprintf(s.Out, "  unfinished, no damage: %s, revision %d: %s\n", f.Build, f.Revision, count(len(f.Problems), "problem"))
	}
	if len(r.Damage) == 0 {
		fmt.Fprintln(s.Out, "Whole.")
	}
}
