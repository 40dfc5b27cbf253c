package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"

	"noonmark/internal/base/problem"
	"noonmark/internal/edge/buildfile"
)

// Report is what Check found.
type Report struct {
	Version                            int // of the file's tables
	Builds, Revisions, Photos, Records int
	Damage                             []string // what is wrong with the file; empty: whole
	Faults                             []Fault  // current texts that are no build file yet; no damage
}

// Fault is a build whose current text has problems.
type Fault struct {
	Build    string
	Revision int
	Problems []problem.Problem
}

// Check reads the whole file: the database's own check, then every rule of this package: names, heads, hashes,
// the heads of pictures. A file too damaged for that is ErrDamaged.
func (s *Store) Check(ctx context.Context) (r Report, err error) {
	found, err := s.integrity(ctx)
	if err != nil {
		return r, sorted(s.path, err)
	}
	err = s.read(ctx, func(tx *sql.Tx) error {
		r = Report{Damage: found}
		if r.Version, err = version(ctx, tx); err != nil {
			return err
		}
		for _, part := range []func(context.Context, *sql.Tx, *Report) error{auditBuilds, auditRevisions, auditPhotos, auditRecords} {
			if err := part(ctx, tx, &r); err != nil {
				return err
			}
		}
		return nil
	})
	if errors.Is(err, ErrDamaged) && len(r.Damage) > 0 {
		err = nil // what could be read was, and the rest is told
	}
	return r, err
}

// integrity returns what the database's own checks find.
func (s *Store) integrity(ctx context.Context) (found []string, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		err := rows(ctx, tx, func(scan func(...any) error) error {
			var line string
			err := scan(&line)
			if line != "ok" {
				found = append(found, line)
			}
			return err
		}, `PRAGMA integrity_check(20)`)
		if err != nil {
			return err
		}
		return rows(ctx, tx, func(scan func(...any) error) error {
			var table, parent string
			var row, key sql.NullInt64
			err := scan(&table, &row, &parent, &key)
			found = append(found, fmt.Sprintf("table %s, row %d: what it stands on in %s is gone", table, row.Int64, parent))
			return err
		}, `PRAGMA foreign_key_check`)
	})
	return found, err
}

// add appends to the damage.
func (r *Report) add(format string, args ...any) {
	r.Damage = append(r.Damage, fmt.Sprintf(format, args...))
}

// addList appends problems to the damage.
func (r *Report) addList(what string, ps problem.List) {
	for _, p := range ps.All() {
		r.add("%s: %s", what, p)
	}
}

func auditBuilds(ctx context.Context, tx *sql.Tx, r *Report) error {
	type build struct {
		shelved
		folded string
	}
	var all []build
	if err := rows(ctx, tx, func(scan func(...any) error) error {
		var b build
		err := scan(&b.id, &b.name, &b.folded, &b.head)
		all = append(all, b)
		return err
	}, `SELECT id, name, folded, head FROM build ORDER BY id`); err != nil {
		return err
	}
	r.Builds = len(all)
	for _, b := range all {
		var ps problem.List
		checkName(&ps, "name", b.name)
		r.addList(fmt.Sprintf("build %d", b.id), ps)
		if fold(b.name) != b.folded {
			r.add("build %q: it is filed under another name", b.name)
		}
		head, err := load(ctx, tx, b.shelved, b.head)
		if errors.Is(err, ErrNotFound) || errors.Is(err, ErrDamaged) {
			r.add("%v", err)
			continue
		}
		if err != nil {
			return err
		}
		var bad *problem.Error
		if _, err := buildfile.Build("", head.Text); errors.As(err, &bad) {
			r.Faults = append(r.Faults, Fault{Build: b.name, Revision: b.head, Problems: bad.Problems})
		}
	}
	return rows(ctx, tx, func(scan func(...any) error) error {
		var name, folded string
		err := scan(&name, &folded)
		var ps problem.List
		checkTag(&ps, "tag", name)
		if fold(name) != folded {
			ps.Addf("tag", "filed under its own name")
		}
		r.addList("a tag", ps)
		return err
	}, `SELECT name, folded FROM tag`)
}

func auditRevisions(ctx context.Context, tx *sql.Tx, r *Report) error {
	return rows(ctx, tx, func(scan func(...any) error) error {
		var build string
		var number int
		var text, hash []byte
		if err := scan(&build, &number, &text, &hash); err != nil {
			return err
		}
		r.Revisions++
		what := fmt.Sprintf("build %q, revision %d", build, number)
		if sum := sha256.Sum256(text); !bytes.Equal(sum[:], hash) {
			r.add("%s: its text is not what was saved", what)
		}
		var ps problem.List
		checkText(&ps, text)
		r.addList(what, ps)
		return nil
	}, `SELECT b.name, r.number, r.text, r.hash FROM revision AS r JOIN build AS b ON b.id = r.build ORDER BY b.id, r.number`)
}

func auditPhotos(ctx context.Context, tx *sql.Tx, r *Report) error {
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM photo`).Scan(&r.Photos); err != nil {
		return err
	}
	return rows(ctx, tx, func(scan func(...any) error) error {
		var hash, data []byte
		var h header
		var shown int
		if err := scan(&hash, &h.kind, &h.width, &h.height, &data, &shown); err != nil {
			return err
		}
		what := fmt.Sprintf("picture %.8x", hash)
		if sum := sha256.Sum256(data); !bytes.Equal(sum[:], hash) {
			r.add("%s: it is not what was saved", what)
			return nil
		}
		var ps problem.List
		if got := checkPicture(&ps, data); got != h && ps.Len() == 0 {
			r.add("%s: it says %v, the file says %v", what, got, h)
		}
		r.addList(what, ps)
		if shown == 0 {
			r.add("%s: no photograph shows it", what)
		}
		return nil
	}, `SELECT hash, kind, width, height, data, (SELECT count(*) FROM photo WHERE photo.hash = picture.hash) FROM picture`)
}

func auditRecords(ctx context.Context, tx *sql.Tx, r *Report) error {
	return rows(ctx, tx, func(scan func(...any) error) error {
		var rec Record
		var hash []byte
		if err := scan(&rec.ID, &rec.Kind, &rec.Key, &rec.Name, &rec.Form, &rec.Data, &hash); err != nil {
			return err
		}
		r.Records++
		what := fmt.Sprintf("record %d", rec.ID)
		if sum := sha256.Sum256(rec.Data); !bytes.Equal(sum[:], hash) {
			r.add("%s: it is not what was saved", what)
			return nil
		}
		var ps problem.List
		checkRecord(&ps, rec)
		r.addList(what, ps)
		return nil
	}, `SELECT id, kind, coalesce(key, ''), name, form, data, hash FROM record`)
}
