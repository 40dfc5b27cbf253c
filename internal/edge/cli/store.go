package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"text/tabwriter"
	"time"

	"github.com/spf13/cobra"

	"noonmark/internal/edge/buildfile"
	"noonmark/internal/edge/store"
)

// inStore begins the name of a build that lies in the store, store:NAME or store:NAME@REVISION.
const inStore = "store:"

type tagJSON struct {
	Name     string    `json:"name"`
	Revision int       `json:"revision"`
	At       time.Time `json:"at"`
	Note     string    `json:"note"`
}

type shelfJSON struct {
	Name      string    `json:"name"`
	Revision  int       `json:"revision"`
	Revisions int       `json:"revisions"`
	Created   time.Time `json:"created"`
	Changed   time.Time `json:"changed"`
	Tags      []tagJSON `json:"tags"`
}

type revisionJSON struct {
	Build    string    `json:"build"`
	Revision int       `json:"revision"`
	Parent   int       `json:"parent"`
	Current  bool      `json:"current"`
	At       time.Time `json:"at"`
	Note     string    `json:"note"`
	Bytes    int       `json:"bytes"`
	Tags     []string  `json:"tags"`
	Text     *string   `json:"text,omitempty"`
}

type lineJSON struct {
	Added bool   `json:"added"`
	Line  int    `json:"line"`
	Text  string `json:"text"`
}

type valueJSON struct {
	Path string  `json:"path"`
	Was  *string `json:"was"`
	Is   *string `json:"is"`
}

type faultJSON struct {
	Build    string   `json:"build"`
	Revision int      `json:"revision"`
	Problems []string `json:"problems"`
}

// splitRef cuts NAME@REVISION.
func splitRef(text string) (name, ref string, err error) {
	name, ref, at := strings.Cut(text, "@")
	if name == "" || at && ref == "" {
		return "", "", misuse("store:%s: wanted store:NAME or store:NAME@REVISION, where the revision is a number or a tag", text)
	}
	return name, ref, nil
}

// storeFile returns the data file's name.
func (s *Streams) storeFile() (string, error) {
	if s.data != "" {
		return s.data, nil
	}
	file, err := store.DefaultFile()
	if err != nil {
		return "", misuse("%v; --data names a file", err)
	}
	return file, nil
}

// useStore opens the store, runs f, and closes it. A store that is not there is made only when make says so.
func useStore(ctx context.Context, s *Streams, make bool, f func(st *store.Store) error) error {
	file, err := s.storeFile()
	if err != nil {
		return err
	}
	if _, err := os.Stat(file); errors.Is(err, fs.ErrNotExist) && !make {
		return misuse("%s: no store there yet; noonmark store add FILE makes it", file)
	}
	st, err := store.Open(ctx, file, store.Options{Clock: s.Clock})
	if err != nil {
		return storeError(err)
	}
	err = f(st)
	if e := st.Close(); err == nil {
		err = e
	}
	return storeError(err)
}

// storeError makes wrong use of what the user's file or words caused; anything else is an internal fault.
func storeError(err error) error {
	var conflict *store.Conflict
	if errors.As(err, &conflict) {
		return misuse("%w; noonmark store compare %q %d %d shows what changed meanwhile", err, conflict.Build, conflict.Base, conflict.Head)
	}
	for _, kind := range []error{store.ErrReadOnly, store.ErrLocked, store.ErrDamaged, store.ErrFull, store.ErrDisk, store.ErrNewer, store.ErrNotStore, store.ErrOpen,
		store.ErrNotFound, store.ErrExists, store.ErrNothing, fs.ErrNotExist, fs.ErrExist, fs.ErrPermission} {
		if errors.Is(err, kind) {
			return useError{err}
		}
	}
	return err
}

func storeCommand(s *Streams) *cobra.Command {
	c := &cobra.Command{
		Use:   "store",
		Short: "the shelf of builds: revisions, undo, tags, backup",
		Long: `Builds kept in one data file, each change a numbered revision with the text as it was typed.
Every command that takes a build file takes store:NAME too, or store:NAME@REVISION, where the revision
is a number or a tag.

  noonmark store add van.yaml
  noonmark plan store:van
  noonmark store tag van "as built"
  noonmark plan "store:van@as built"`,
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return misuse("no command store %s; noonmark store --help lists them", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	for _, make := range []command{storeList, storeAdd, storeExport, storeHistory, storeUndo, storeRedo, storeTag, storeCompare, storeBackup, storeCheck} {
		sub := make(s)
		if sub.Flags().Lookup("json") == nil {
			panic("cli: " + sub.Name() + " has no --json")
		}
		c.AddCommand(sub)
	}
	return c
}

// jsonFlag gives a command its --json.
func jsonFlag(c *cobra.Command, into *bool) *cobra.Command {
	c.Flags().BoolVar(into, "json", false, "print one JSON document")
	return c
}

// between demands from least to most arguments.
func between(least, most int, names string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) < least || len(args) > most {
			return misuse("%s wants %s; %s --help shows an example", c.CommandPath(), names, c.CommandPath())
		}
		return nil
	}
}

// day prints a moment for people.
func day(t time.Time) string { return t.Format("2006-01-02 15:04") + " UTC" }

func tagsJSON(list []store.Tag) []tagJSON {
	out := make([]tagJSON, 0, len(list))
	for _, t := range list {
		out = append(out, tagJSON{t.Name, t.Revision, t.At, t.Note})
	}
	return out
}

func asRevision(r store.Revision) revisionJSON {
	return revisionJSON{Build: r.Build, Revision: r.Number, Parent: r.Parent, Current: r.Head, At: r.At, Note: r.Note, Bytes: r.Size, Tags: append([]string{}, r.Tags...)}
}

func storeList(s *Streams) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   "list",
		Short: "the builds, the one changed last first",
		Long: `Name, current revision, when it changed, tags.

  noonmark store list`,
		Args: exactly(0, "no arguments"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				list, err := st.Builds(cmd.Context())
				if err != nil {
					return err
				}
				if asJSON {
					out := make([]shelfJSON, 0, len(list))
					for _, b := range list {
						out = append(out, shelfJSON{b.Name, b.Head, b.Revisions, b.Created, b.Changed, tagsJSON(b.Tags)})
					}
					return writeJSON(s.Out, map[string]any{"store": st.Path(), "builds": out})
				}
				if len(list) == 0 {
					fmt.Fprintln(s.Out, "No builds yet. Next: noonmark store add FILE")
				}
				w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
				for _, b := range list {
					var names []string
					for _, t := range b.Tags {
						names = append(names, fmt.Sprintf("%s: %d", t.Name, t.Revision))
					}
					fmt.Fprintf(w, "%s\trevision %d of %d\t%s\t%s\n", b.Name, b.Head, b.Revisions, day(b.Changed), strings.Join(names, ", "))
				}
				return w.Flush()
			})
		},
	}, &asJSON)
}

func storeAdd(s *Streams) *cobra.Command {
	var asJSON, unfinished bool
	var name, note string
	var onto int
	c := jsonFlag(&cobra.Command{
		Use:   "add FILE",
		Short: "put a build file on the shelf, or save it as the next revision of one",
		Long: `Keeps the text exactly as it is in the file. A file with problems is refused unless --unfinished.
With --onto the text becomes the next revision of the build, if REVISION is still the current one.

  noonmark store add van.yaml
  noonmark store add van.yaml --name "our van"
  noonmark store add van.yaml --onto 3 --note "thicker cable"`,
		Args: exactly(1, "one build file"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if name == "" {
				name = strings.TrimSuffix(strings.TrimSuffix(filepath.Base(args[0]), ".yaml"), ".yml")
			}
			text, err := readBuildText(args[0], unfinished)
			if err != nil {
				return err
			}
			folder, err := filepath.Abs(filepath.Dir(args[0]))
			if err != nil {
				return err
			}
			return useStore(cmd.Context(), s, true, func(st *store.Store) error {
				d := store.Draft{Text: text, Note: note, Folder: folder}
				var r store.Revision
				if cmd.Flags().Changed("onto") {
					r, err = st.Save(cmd.Context(), name, onto, d)
				} else if r, err = st.Add(cmd.Context(), name, d); errors.Is(err, store.ErrExists) {
					return fmt.Errorf("%w; --onto REVISION saves the next one of it, --name gives another name", err)
				}
				if err != nil {
					return err
				}
				return printRevision(s, r, asJSON)
			})
		},
	}, &asJSON)
	c.Flags().StringVar(&name, "name", "", "name on the shelf (default: the file's)")
	c.Flags().StringVar(&note, "note", "", "what changed")
	c.Flags().IntVar(&onto, "onto", 0, "the revision the file was made from")
	c.Flags().BoolVar(&unfinished, "unfinished", false, "keep it although it has problems")
	return c
}

// readBuildText reads a build file's text, and refuses one with problems unless it may be unfinished.
func readBuildText(path string, unfinished bool) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, misuse("%v", err)
	}
	if !info.Mode().IsRegular() || info.Size() > store.LargestText {
		return nil, misuse("%s: wanted a build file of at most %d kB", path, store.LargestText>>10)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, misuse("%v", err)
	}
	if unfinished {
		return text, nil
	}
	_, err = buildfile.Build(path, text)
	return text, err
}

// printRevision says which revision a build is at now.
func printRevision(s *Streams, r store.Revision, asJSON bool) error {
	if asJSON {
		return writeJSON(s.Out, asRevision(r))
	}
	fmt.Fprintf(s.Out, "%s is at revision %d, %s. Next: noonmark plan %q\n", r.Build, r.Number, day(r.At), inStore+r.Build)
	return nil
}

func storeExport(s *Streams) *cobra.Command {
	var asJSON bool
	var out string
	c := jsonFlag(&cobra.Command{
		Use:   "export NAME[@REVISION]",
		Short: "the text of a build, exactly as it was typed",
		Long: `Printed, or written to a new file; a file that is there is not written over.

  noonmark store export van > van.yaml
  noonmark store export "van@as built" -o built.yaml`,
		Args: exactly(1, "one name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			name, ref, err := splitRef(strings.TrimPrefix(args[0], inStore))
			if err != nil {
				return err
			}
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				r, err := st.Read(cmd.Context(), name, ref)
				if err != nil {
					return err
				}
				if out != "" {
					if _, err := os.Lstat(out); err == nil {
						return misuse("%s is there already; give another name", out)
					}
					if err := writeNew(out, r.Text); err != nil {
						return misuse("%v", err)
					}
				}
				switch {
				case asJSON:
					v, text := asRevision(r), string(r.Text)
					v.Text = &text
					return writeJSON(s.Out, v)
				case out == "":
					_, err = s.Out.Write(r.Text)
				}
				return err
			})
		},
	}, &asJSON)
	c.Flags().StringVarP(&out, "output", "o", "", "file to write")
	return c
}

func storeHistory(s *Streams) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   "history NAME",
		Short: "the revisions of a build",
		Long: `Number, the revision it was made from, time, size, note and tags; > marks the current one.

  noonmark store history van`,
		Args: exactly(1, "one name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				list, err := st.History(cmd.Context(), strings.TrimPrefix(args[0], inStore))
				if err != nil {
					return err
				}
				if asJSON {
					out := make([]revisionJSON, 0, len(list))
					for _, r := range list {
						out = append(out, asRevision(r))
					}
					return writeJSON(s.Out, map[string]any{"build": list[0].Build, "revisions": out})
				}
				w := tabwriter.NewWriter(s.Out, 0, 0, 2, ' ', 0)
				for _, r := range list {
					mark, from := " ", "new"
					if r.Head {
						mark = ">"
					}
					if r.Parent > 0 {
						from = "from " + strconv.Itoa(r.Parent)
					}
					note, _, _ := strings.Cut(r.Note, "\n")
					if len(r.Tags) > 0 {
						note = "[" + strings.TrimSpace(strings.Join(r.Tags, ", ")+"] "+note)
					}
					fmt.Fprintf(w, "%s %d\t%s\t%s\t%d bytes\t%s\n", mark, r.Number, from, day(r.At), r.Size, note)
				}
				return w.Flush()
			})
		},
	}, &asJSON)
}

func storeUndo(s *Streams) *cobra.Command {
	return turnCommand(s, "undo", "back to the revision the current one was made from", (*store.Store).Undo)
}

func storeRedo(s *Streams) *cobra.Command {
	return turnCommand(s, "redo", "forward to the youngest revision made from the current one", (*store.Store).Redo)
}

func turnCommand(s *Streams, name, short string, turn func(*store.Store, context.Context, string, int) (store.Revision, error)) *cobra.Command {
	var asJSON bool
	return jsonFlag(&cobra.Command{
		Use:   name + " NAME",
		Short: short,
		Long:  "No revision is ever lost: the history keeps each.\n\n  noonmark store " + name + " van",
		Args:  exactly(1, "one name"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				head, err := st.Read(cmd.Context(), strings.TrimPrefix(args[0], inStore), "")
				if err != nil {
					return err
				}
				r, err := turn(st, cmd.Context(), head.Build, head.Number)
				if err != nil {
					return err
				}
				return printRevision(s, r, asJSON)
			})
		},
	}, &asJSON)
}

func storeTag(s *Streams) *cobra.Command {
	var asJSON, remove bool
	var note string
	c := jsonFlag(&cobra.Command{
		Use:   "tag NAME TAG [REVISION]",
		Short: "name a revision, for instance \"as built\"",
		Long: `The current revision, or the one given. A tag that is there moves; --remove takes it away.

  noonmark store tag van "as built"
  noonmark store tag van "before the fan" 3`,
		Args: between(2, 3, "a name, a tag and perhaps a revision"),
		RunE: func(cmd *cobra.Command, args []string) error {
			name, ref := strings.TrimPrefix(args[0], inStore), ""
			if len(args) == 3 {
				ref = args[2]
			}
			if remove && ref != "" {
				return misuse("--remove wants no revision")
			}
			return useStore(cmd.Context(), s, false, func(st *store.Store) error {
				var t store.Tag
				var err error
				if remove {
					t.Name, err = args[1], st.Untag(cmd.Context(), name, args[1])
				} else {
					t, err = st.Tag(cmd.Context(), name, args[1], ref, note)
				}
				switch {
				case err != nil:
					return err
				case asJSON:
					return writeJSON(s.Out, map[string]any{"build": name, "tag": t.Name, "revision": t.Revision, "removed": remove})
				case remove:
					fmt.Fprintf(s.Out, "%s has no tag %q any more; its revision stays.\n", name, t.Name)
				default:
					fmt.Fprintf(s.Out, "Revision %d of %s is %q.\n", t.Revision, name, t.Name)
				}
				return nil
			})
		},
	}, &asJSON)
	c.Flags().StringVar(&note, "note", "", "why")
	c.Flags().BoolVar(&remove, "remove", false, "take the tag away")
	return c
}
