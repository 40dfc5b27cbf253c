package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"noonmark/internal/base/problem"
)

// Build is a build on the shelf.
type Build struct {
	Name      string
	Folder    string // where it was imported from, for the weather files it names; may be empty
	Head      int    // the current revision
	Revisions int
	Created   time.Time
	Changed   time.Time // when the head last moved
	Tags      []Tag
}

// Tag is a name given to a revision.
type Tag struct {
	Name     string
	Revision int
	Note     string
	At       time.Time
}

// Revision is one state of a build. Text is nil in lists.
type Revision struct {
	Build  string
	Folder string // of the build
	Number int
	Parent int // the revision it was made from, which undo leads to; 0: none
	Next   int // the one redo leads to; 0: none
	Head   bool
	At     time.Time
	Note   string
	Size   int // of the text, bytes
	Tags   []string
	Text   []byte // exactly as it was typed
}

// Draft is a text to be saved.
type Draft struct {
	Text   []byte
	Note   string // what changed; may be empty
	Folder string // Add only: where the file came from; may be empty
}

// Builds returns the shelf, the build changed last first.
func (s *Store) Builds(ctx context.Context) (list []Build, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		list = nil
		ids := []int64{}
		err := rows(ctx, tx, func(scan func(...any) error) error {
			var b Build
			var id, created, changed int64
			if err := scan(&id, &b.Name, &b.Folder, &b.Head, &created, &changed, &b.Revisions); err != nil {
				return err
			}
			b.Created, b.Changed = moment(created), moment(changed)
			list, ids = append(list, b), append(ids, id)
			return nil
		}, `SELECT id, name, folder, head, created, changed, (SELECT count(*) FROM revision WHERE build = id)
			FROM build ORDER BY changed DESC, id DESC`)
		for i := range list {
			if err == nil {
				list[i].Tags, err = tags(ctx, tx, ids[i])
			}
		}
		return err
	})
	return list, err
}

// tags returns a build's tags in the order of their revisions.
func tags(ctx context.Context, tx *sql.Tx, id int64) (list []Tag, err error) {
	err = rows(ctx, tx, func(scan func(...any) error) error {
		var t Tag
		var at int64
		err := scan(&t.Name, &t.Revision, &t.Note, &at)
		t.At = moment(at)
		list = append(list, t)
		return err
	}, `SELECT name, revision, note, at FROM tag WHERE build = ? ORDER BY revision, folded`, id)
	return list, err
}

// shelved is a build's row.
type shelved struct {
	id           int64
	name, folder string
	head         int
}

// find returns a build by its name, in any case of letters.
func find(ctx context.Context, tx *sql.Tx, name string) (b shelved, err error) {
	err = tx.QueryRowContext(ctx, `SELECT id, name, folder, head FROM build WHERE folded = ?`, fold(name)).Scan(&b.id, &b.name, &b.folder, &b.head)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("build %q: %w", name, ErrNotFound)
	}
	return b, err
}

// load returns a revision with its text, which agrees with its hash.
func load(ctx context.Context, tx *sql.Tx, b shelved, number int) (Revision, error) {
	r := Revision{Build: b.name, Folder: b.folder, Number: number, Head: number == b.head}
	var at int64
	var hash []byte
	err := tx.QueryRowContext(ctx, `SELECT coalesce(parent, 0), text, hash, note, at,
		coalesce((SELECT max(number) FROM revision AS c WHERE c.build = r.build AND c.parent = r.number), 0)
		FROM revision AS r WHERE build = ? AND number = ?`, b.id, number).Scan(&r.Parent, &r.Text, &hash, &r.Note, &at, &r.Next)
	if errors.Is(err, sql.ErrNoRows) {
		return r, fmt.Errorf("build %q, revision %d: %w", b.name, number, ErrNotFound)
	}
	if err != nil {
		return r, err
	}
	if err := asSaved(fmt.Sprintf("build %q, revision %d: its text", b.name, number), r.Text, hash); err != nil {
		return r, err
	}
	r.At, r.Size = moment(at), len(r.Text)
	list, err := tags(ctx, tx, b.id)
	for _, t := range list {
		if t.Revision == number {
			r.Tags = append(r.Tags, t.Name)
		}
	}
	return r, err
}

// resolve returns the number a reference stands for: "" is the head, digits a revision, else a tag.
func resolve(ctx context.Context, tx *sql.Tx, b shelved, ref string) (int, error) {
	if ref == "" {
		return b.head, nil
	}
	if strings.Trim(ref, "0123456789") == "" {
		n, err := strconv.Atoi(ref)
		if err != nil || n < 1 {
			return 0, fmt.Errorf("build %q, revision %s: %w", b.name, ref, ErrNotFound)
		}
		return n, nil
	}
	var n int
	err := tx.QueryRowContext(ctx, `SELECT revision FROM tag WHERE build = ? AND folded = ?`, b.id, fold(ref)).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("build %q, tag %q: %w", b.name, ref, ErrNotFound)
	}
	return n, err
}

// Read returns a revision of a build with its text. A reference is a revision's number or a tag; "" is the
// current one.
func (s *Store) Read(ctx context.Context, name, ref string) (r Revision, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		n, err := resolve(ctx, tx, b, ref)
		if err == nil {
			r, err = load(ctx, tx, b, n)
		}
		return err
	})
	return r, err
}

// History returns a build's revisions without their texts, the first first.
func (s *Store) History(ctx context.Context, name string) (list []Revision, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		list = nil
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		err = rows(ctx, tx, func(scan func(...any) error) error {
			r := Revision{Build: b.name, Folder: b.folder}
			var at int64
			if err := scan(&r.Number, &r.Parent, &r.Size, &r.Note, &at); err != nil {
				return err
			}
			r.At, r.Head = moment(at), r.Number == b.head
			list = append(list, r)
			return nil
		}, `SELECT number, coalesce(parent, 0), length(text), note, at FROM revision WHERE build = ? ORDER BY number`, b.id)
		if err != nil {
			return err
		}
		index := map[int]int{}
		for i, r := range list {
			index[r.Number] = i
			if at, ok := index[r.Parent]; ok {
				list[at].Next = r.Number // the youngest stays
			}
		}
		all, err := tags(ctx, tx, b.id)
		for _, t := range all {
			if at, ok := index[t.Revision]; ok {
				list[at].Tags = append(list[at].Tags, t.Name)
			}
		}
		return err
	})
	return list, err
}

// Add puts a new build on the shelf, as revision 1. ErrExists when the name is taken.
func (s *Store) Add(ctx context.Context, name string, d Draft) (r Revision, err error) {
	var ps problem.List
	checkName(&ps, "name", name)
	checkText(&ps, d.Text)
	checkNote(&ps, "note", d.Note)
	checkNote(&ps, "folder", d.Folder)
	if err := ps.Err(); err != nil {
		return Revision{}, err
	}
	err = s.write(ctx, func(tx *sql.Tx) error {
		if _, err := find(ctx, tx, name); err == nil {
			return fmt.Errorf("build %q: %w", name, ErrExists)
		} else if !errors.Is(err, ErrNotFound) {
			return err
		}
		now := s.now()
		res, err := tx.ExecContext(ctx, `INSERT INTO build (name, folded, folder, head, created, changed) VALUES (?, ?, ?, 1, ?, ?)`,
			name, fold(name), d.Folder, now, now)
		if err != nil {
			return err
		}
		id, err := res.LastInsertId()
		if err == nil {
			r, err = grow(ctx, tx, shelved{id: id, name: name, folder: d.Folder}, 0, d, now)
		}
		return err
	})
	return r, err
}

// grow adds a revision after the last and makes it the head.
func grow(ctx context.Context, tx *sql.Tx, b shelved, parent int, d Draft, now int64) (Revision, error) {
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT coalesce(max(number), 0) + 1 FROM revision WHERE build = ?`, b.id).Scan(&n); err != nil {
		return Revision{}, err
	}
	sum := sha256.Sum256(d.Text)
	from := sql.NullInt64{Int64: int64(parent), Valid: parent > 0}
	if _, err := tx.ExecContext(ctx, `INSERT INTO revision (build, number, parent, text, hash, note, at) VALUES (?, ?, ?, ?, ?, ?, ?)`,
		b.id, n, from, d.Text, sum[:], d.Note, now); err != nil {
		return Revision{}, err
	}
	if err := move(ctx, tx, b.id, n, now); err != nil {
		return Revision{}, err
	}
	return Revision{Build: b.name, Folder: b.folder, Number: n, Parent: parent, Head: true, At: moment(now), Note: d.Note,
		Size: len(d.Text), Text: slices.Clone(d.Text)}, nil
}

// move makes a revision the head.
func move(ctx context.Context, tx *sql.Tx, id int64, number int, now int64) error {
	_, err := tx.ExecContext(ctx, `UPDATE build SET head = ?, changed = ? WHERE id = ?`, number, now, id)
	return err
}

// current returns the head, or a *Conflict when it is not base.
func current(ctx context.Context, tx *sql.Tx, b shelved, base int, yours []byte) (Revision, error) {
	head, err := load(ctx, tx, b, b.head)
	if err != nil || base == b.head {
		return head, err
	}
	c := &Conflict{Build: b.name, Base: base, Head: b.head, Yours: yours, Theirs: head.Text}
	from, err := load(ctx, tx, b, base)
	if err == nil {
		c.BaseText = from.Text
	} else if !errors.Is(err, ErrNotFound) {
		return head, err
	}
	return head, c
}

// Save makes a text the next revision of a build. Base is the revision it was made from; when that is no
// longer the current one, Save returns a *Conflict. A text that is the current one already, as when a
// request is repeated because its answer was lost, returns that one and changes nothing.
func (s *Store) Save(ctx context.Context, name string, base int, d Draft) (r Revision, err error) {
	var ps problem.List
	checkText(&ps, d.Text)
	checkNote(&ps, "note", d.Note)
	if err := ps.Err(); err != nil {
		return Revision{}, err
	}
	err = s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		head, err := current(ctx, tx, b, base, slices.Clone(d.Text))
		var c *Conflict
		if (err == nil || errors.As(err, &c)) && bytes.Equal(head.Text, d.Text) {
			r = head
			return nil
		}
		if err == nil {
			r, err = grow(ctx, tx, b, b.head, d, s.now())
		}
		return err
	})
	return r, err
}

// Undo makes the revision the current one was made from the current one, and returns it. Base is the
// revision the user sees; a *Conflict when it is not the current one, ErrNothing at the first.
func (s *Store) Undo(ctx context.Context, name string, base int) (Revision, error) {
	return s.turn(ctx, name, base, "undo", func(r Revision) int { return r.Parent })
}

// Redo makes the youngest revision that was made from the current one the current one, as Undo.
func (s *Store) Redo(ctx context.Context, name string, base int) (Revision, error) {
	return s.turn(ctx, name, base, "redo", func(r Revision) int { return r.Next })
}

// turn moves the head to where to says.
func (s *Store) turn(ctx context.Context, name string, base int, what string, to func(Revision) int) (r Revision, err error) {
	err = s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		head, err := current(ctx, tx, b, base, nil)
		if err != nil {
			return err
		}
		n := to(head)
		if n == 0 {
			return fmt.Errorf("build %q, %s from revision %d: %w", b.name, what, b.head, ErrNothing)
		}
		if err := move(ctx, tx, b.id, n, s.now()); err != nil {
			return err
		}
		b.head = n
		r, err = load(ctx, tx, b, n)
		return err
	})
	return r, err
}

// Tag gives a revision a name, "as built", or moves that name to it.
func (s *Store) Tag(ctx context.Context, name, tag, ref, note string) (t Tag, err error) {
	var ps problem.List
	checkTag(&ps, "tag", tag)
	checkNote(&ps, "note", note)
	if err := ps.Err(); err != nil {
		return Tag{}, err
	}
	err = s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		n, err := resolve(ctx, tx, b, ref)
		if err != nil {
			return err
		}
		if _, err := load(ctx, tx, b, n); err != nil {
			return err
		}
		now := s.now()
		t = Tag{Name: tag, Revision: n, Note: note, At: moment(now)}
		_, err = tx.ExecContext(ctx, `INSERT INTO tag (build, folded, name, revision, note, at) VALUES (?, ?, ?, ?, ?, ?)
			ON CONFLICT (build, folded) DO UPDATE SET name = excluded.name, revision = excluded.revision, note = excluded.note, at = excluded.at`,
			b.id, fold(tag), tag, n, note, now)
		return err
	})
	return t, err
}

// Untag takes a tag away; its revision stays.
func (s *Store) Untag(ctx context.Context, name, tag string) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		return gone(fmt.Sprintf("build %q, tag %q", b.name, tag))(tx.ExecContext(ctx, `DELETE FROM tag WHERE build = ? AND folded = ?`, b.id, fold(tag)))
	})
}

// gone returns ErrNotFound when a statement changed no row.
func gone(what string) func(sql.Result, error) error {
	return func(res sql.Result, err error) error {
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return fmt.Errorf("%s: %w", what, ErrNotFound)
	}
}

// Rename gives a build another name. ErrExists when it is another build's.
func (s *Store) Rename(ctx context.Context, name, to string) error {
	var ps problem.List
	checkName(&ps, "name", to)
	if err := ps.Err(); err != nil {
		return err
	}
	return s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		if other, err := find(ctx, tx, to); err == nil && other.id != b.id {
			return fmt.Errorf("build %q: %w", to, ErrExists)
		} else if err != nil && !errors.Is(err, ErrNotFound) {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE build SET name = ?, folded = ? WHERE id = ?`, to, fold(to), b.id)
		return err
	})
}

// Remove takes a build off the shelf for good, with its revisions, photographs and records. Base is the
// revision the user sees; a *Conflict when it is not the current one.
func (s *Store) Remove(ctx context.Context, name string, base int) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, name)
		if err != nil {
			return err
		}
		if _, err := current(ctx, tx, b, base, nil); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM build WHERE id = ?`, b.id); err != nil {
			return err
		}
		return sweep(ctx, tx)
	})
}
