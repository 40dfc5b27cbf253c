package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"noonmark/internal/base/problem"
)

// Record is a reading, a log, or another thing that belongs to a build, as it came. Data is nil in lists.
type Record struct {
	ID    int64
	Build string
	Kind  string // "reading", "log", or another word of small letters, digits and hyphens
	Key   string // made by the sender, so that a repeated request is kept once; may be empty
	Name  string // of the file or the point of measurement; may be empty
	Form  string // "json" or "csv"
	At    time.Time
	Size  int // bytes
	Data  []byte
}

// checkRecord reports what is wrong with a record. A CSV is taken as it is, in whatever code page.
func checkRecord(ps *problem.List, r Record) {
	word := func(c rune) bool { return !(c >= 'a' && c <= 'z' || c >= '0' && c <= '9' || c == '-') }
	if r.Kind == "" || len(r.Kind) > 32 || strings.IndexFunc(r.Kind, word) >= 0 {
		ps.Add(problem.Problem{Path: "kind", Found: r.Kind, Want: "reading, log, or a word of small letters, digits and hyphens"})
	}
	if r.Name != "" {
		checkName(ps, "name", r.Name)
	}
	if r.Key != "" {
		checkName(ps, "key", r.Key)
	}
	if len(r.Data) > LargestRecord {
		ps.Addf("data", "at most %d MB; it has %.1f MB", LargestRecord>>20, float64(len(r.Data))/(1<<20))
		return
	}
	switch {
	case r.Form != "json" && r.Form != "csv":
		ps.Add(problem.Problem{Path: "form", Found: r.Form, Want: "json or csv"})
	case len(r.Data) == 0:
		ps.Addf("data", "something; it is empty")
	case r.Form == "json" && !json.Valid(r.Data):
		ps.Addf("data", "one JSON document")
	}
}

// AddRecord keeps a record of a build: Kind, Key, Name, Form and Data are read, and At unless zero. A key that
// the build has for this kind already returns the record kept then, when the data are the same, and ErrExists
// when they are not. The result has no Data.
func (s *Store) AddRecord(ctx context.Context, build string, r Record) (out Record, err error) {
	var ps problem.List
	checkRecord(&ps, r)
	if err := ps.Err(); err != nil {
		return Record{}, err
	}
	sum := sha256.Sum256(r.Data)
	err = s.write(ctx, func(tx *sql.Tx) error {
		b, err := find(ctx, tx, build)
		if err != nil {
			return err
		}
		key := sql.NullString{String: r.Key, Valid: r.Key != ""}
		var id int64
		var hash []byte
		err = tx.QueryRowContext(ctx, `SELECT id, hash FROM record WHERE build = ? AND kind = ? AND key = ?`, b.id, r.Kind, key).Scan(&id, &hash)
		switch {
		case err == nil && !bytes.Equal(hash, sum[:]):
			return fmt.Errorf("%s with the key %q: %w, with other data", r.Kind, r.Key, ErrExists)
		case errors.Is(err, sql.ErrNoRows):
			at := s.now()
			if !r.At.IsZero() {
				at = r.At.UnixMilli()
			}
			res, err := tx.ExecContext(ctx, `INSERT INTO record (build, kind, key, name, form, at, hash, data) VALUES (?, ?, ?, ?, ?, ?, ?, ?)`,
				b.id, r.Kind, key, r.Name, r.Form, at, sum[:], r.Data)
			if err != nil {
				return err
			}
			if id, err = res.LastInsertId(); err != nil {
				return err
			}
		case err != nil:
			return err
		}
		out, err = record(ctx, tx, id)
		return err
	})
	return out, err
}

const recordColumns = `SELECT r.id, b.name, r.kind, coalesce(r.key, ''), r.name, r.form, r.at, length(r.data)
	FROM record AS r JOIN build AS b ON b.id = r.build `

// scanRecord reads a row of recordColumns.
func scanRecord(scan func(...any) error) (r Record, err error) {
	var at int64
	err = scan(&r.ID, &r.Build, &r.Kind, &r.Key, &r.Name, &r.Form, &at, &r.Size)
	r.At = moment(at)
	return r, err
}

// record returns a record without its data.
func record(ctx context.Context, tx *sql.Tx, id int64) (Record, error) {
	r, err := scanRecord(tx.QueryRowContext(ctx, recordColumns+`WHERE r.id = ?`, id).Scan)
	if errors.Is(err, sql.ErrNoRows) {
		err = fmt.Errorf("record %d: %w", id, ErrNotFound)
	}
	return r, err
}

// Records returns a build's records of a kind, "" for all, without their data, the oldest first.
func (s *Store) Records(ctx context.Context, build, kind string) ([]Record, error) {
	return listed(ctx, s, build, scanRecord, recordColumns+`WHERE r.build = ? AND (? = '' OR r.kind = ?) ORDER BY r.at, r.id`, kind, kind)
}

// Record returns a record with its data, which agree with their hash.
func (s *Store) Record(ctx context.Context, id int64) (r Record, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		if r, err = record(ctx, tx, id); err != nil {
			return err
		}
		var hash []byte
		if err := tx.QueryRowContext(ctx, `SELECT data, hash FROM record WHERE id = ?`, id).Scan(&r.Data, &hash); err != nil {
			return err
		}
		return asSaved(fmt.Sprintf("record %d", id), r.Data, hash)
	})
	if err != nil {
		return Record{}, err
	}
	return r, nil
}

// RemoveRecord takes a record away for good.
func (s *Store) RemoveRecord(ctx context.Context, id int64) error {
	return s.write(ctx, func(tx *sql.Tx) error {
		return gone(fmt.Sprintf("record %d", id))(tx.ExecContext(ctx, `DELETE FROM record WHERE id = ?`, id))
	})
}
