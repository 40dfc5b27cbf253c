package store

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

// Options are what a store needs from outside.
type Options struct {
	Clock func() time.Time // must be given
	Wait  time.Duration    // for another program's lock; 0: 5 s
}

// Store is an open data file. Its methods may be called by several goroutines at once, and several
// programs may have the same file open.
type Store struct {
	path     string
	db       *sql.DB
	clock    func() time.Time
	writer   chan struct{} // held by the one writer of this program, so that its own do not poll the file
	readOnly bool
}

// DefaultFile returns where the store lies unless the user says otherwise: noonmark/store.db in the user's
// folder for settings.
func DefaultFile() (string, error) {
	dir, err := os.UserConfigDir()
	if err != nil {
		return "", fmt.Errorf("no folder for the store: %w", err)
	}
	return filepath.Join(dir, "noonmark", "store.db"), nil
}

// Open opens the store at path, makes it when there is none, and brings an older one up to date. A file
// that may only be read opens too; its writes return ErrReadOnly. It panics without a clock.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	if o.Clock == nil {
		panic("store: no clock")
	}
	if o.Wait <= 0 {
		o.Wait = 5 * time.Second
	}
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := create(ctx, path, o); err != nil {
			return nil, named(path, err)
		}
	case err != nil:
		return nil, named(path, err)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: %w: not a file", path, ErrNotStore)
	case info.Size() == 0:
		return nil, fmt.Errorf("%s: %w (it is empty, which a store never is)", path, ErrDamaged)
	}
	s, err := open(ctx, path, o, migrations, modeWrite)
	for _, m := range []mode{modeRead, modeFrozen} {
		if kind := kindOf(err); !errors.Is(kind, ErrReadOnly) && !errors.Is(kind, ErrOpen) {
			break
		}
		if m == modeFrozen && journal(path) {
			break // its journal holds what the file does not
		}
		s, err = open(ctx, path, o, migrations, m)
	}
	if err != nil {
		return nil, named(path, err)
	}
	return s, nil
}

// mode is how a file is opened.
type mode string

const (
	modeWrite  mode = "rw"
	modeMake   mode = "rwc"
	modeRead   mode = "ro"
	modeFrozen mode = "ro&immutable=1" // in a folder where no journal can be made
)

// journal reports whether a file's journal holds anything.
func journal(path string) bool {
	info, err := os.Stat(path + "-wal")
	return err == nil && info.Size() > 0
}

// dsn returns the driver's name for a file: every connection waits for locks, keeps foreign keys, and
// acknowledges a commit only when it is on the disk.
func dsn(path string, o Options, m mode) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	abs = filepath.ToSlash(abs)
	if !strings.HasPrefix(abs, "/") {
		abs = "/" + abs // a drive letter
	}
	name := "file:" + (&url.URL{Path: abs}).EscapedPath() + "?mode=" + string(m) +
		fmt.Sprintf("&_txlock=immediate&_pragma=busy_timeout(%d)&_pragma=foreign_keys(1)&_pragma=trusted_schema(0)&_pragma=cell_size_check(1)", o.Wait.Milliseconds())
	if m == modeWrite || m == modeMake {
		name += "&_pragma=journal_mode(wal)&_pragma=synchronous(full)&_pragma=fullfsync(1)&_pragma=checkpoint_fullfsync(1)"
	}
	return name, nil
}

// open opens a file in a mode and applies what it lacks of the list of migrations.
func open(ctx context.Context, path string, o Options, list []string, m mode) (*Store, error) {
	name, err := dsn(path, o, m)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", name)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(8)
	db.SetMaxIdleConns(8)
	s := &Store{path: path, db: db, clock: o.Clock, writer: make(chan struct{}, 1)}
	if err := s.prepare(ctx, list, m); err != nil {
		db.Close()
		return nil, err
	}
	return s, nil
}

// prepare checks whose file it is, and brings it up to date.
func (s *Store) prepare(ctx context.Context, list []string, m mode) error {
	v, err := version(ctx, s.db)
	if err != nil {
		return err
	}
	if v > len(list) {
		return fmt.Errorf("%w: its version is %d, known here are up to %d", ErrNewer, v, len(list))
	}
	if v == 0 && m != modeMake {
		return fmt.Errorf("%w: it holds nothing", ErrNotStore)
	}
	if s.readOnly, err = s.askReadOnly(ctx); err != nil {
		return err
	}
	if s.readOnly {
		if v < len(list) {
			return fmt.Errorf("it is of version %d and must become %d: %w", v, len(list), ErrReadOnly)
		}
		return nil
	}
	return migrate(ctx, s.db, list)
}

// askReadOnly asks the driver whether it got the file for reading only.
func (s *Store) askReadOnly(ctx context.Context) (bool, error) {
	c, err := s.db.Conn(ctx)
	if err != nil {
		return false, err
	}
	defer c.Close()
	only := false
	err = c.Raw(func(driver any) (err error) {
		only, err = driver.(interface {
			IsReadOnly(string) (bool, error)
		}).IsReadOnly("main")
		return err
	})
	return only, err
}

// create makes a new store whole under another name, then gives it its own, so that a store is never half
// made. When another program was faster, its store stays.
func create(ctx context.Context, path string, o Options) error {
	if journal(path) {
		return fmt.Errorf("%w: its journal %s-wal is there, the file itself is gone", ErrDamaged, filepath.Base(path))
	}
	dir := filepath.Dir(path)
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(dir, filepath.Base(path)+".new-*") // 0600: the user's own
	if err != nil {
		return err
	}
	part := f.Name()
	for _, end := range []string{"", "-wal", "-shm"} {
		defer os.Remove(part + end)
	}
	if err := f.Close(); err != nil {
		return err
	}
	s, err := open(ctx, part, o, migrations, modeMake)
	if err != nil {
		return err
	}
	if err := s.Close(); err != nil {
		return err
	}
	err = place(part, path)
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	return err
}

// place gives a finished file its name, unless that is taken: fs.ErrExist. The file and its folder are on
// the disk when it returns.
func place(part, path string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Sync()
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	if err := os.Link(part, path); errors.Is(err, fs.ErrExist) {
		return err
	} else if err != nil { // a file system without links
		if _, err := os.Lstat(path); err == nil {
			return fs.ErrExist
		}
		if err := os.Rename(part, path); err != nil {
			return err
		}
	}
	if runtime.GOOS == "windows" {
		return nil // a folder cannot be synchronised there
	}
	d, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// Close ends the use of the file.
func (s *Store) Close() error { return sorted(s.path, s.db.Close()) }

// Path returns the file's name as given to Open.
func (s *Store) Path() string { return s.path }

// ReadOnly reports whether the file may only be read.
func (s *Store) ReadOnly() bool { return s.readOnly }

// now returns the clock's time as stored: milliseconds since 1970.
func (s *Store) now() int64 { return s.clock().UnixMilli() }

// moment returns a stored time.
func moment(ms int64) time.Time { return time.UnixMilli(ms).UTC() }

// write runs f in the one writing transaction, which is on the disk when write returns nil.
func (s *Store) write(ctx context.Context, f func(tx *sql.Tx) error) error {
	if s.readOnly {
		return fmt.Errorf("%s: %w", s.path, ErrReadOnly)
	}
	select {
	case s.writer <- struct{}{}:
		defer func() { <-s.writer }()
	case <-ctx.Done():
		return ctx.Err()
	}
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return sorted(s.path, err)
	}
	defer tx.Rollback()
	if err := f(tx); err != nil {
		return sorted(s.path, err)
	}
	return sorted(s.path, tx.Commit())
}

// read runs f in a transaction that sees one state of the file and holds up nobody.
func (s *Store) read(ctx context.Context, f func(tx *sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return sorted(s.path, err)
	}
	defer tx.Rollback()
	return sorted(s.path, f(tx))
}

// rows runs a query and calls each for every row, with the row's Scan.
func rows(ctx context.Context, tx *sql.Tx, each func(scan func(...any) error) error, query string, args ...any) error {
	r, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer r.Close()
	for r.Next() {
		if err := each(r.Scan); err != nil {
			return err
		}
	}
	return r.Err()
}

// listed returns what belongs to a build, by a query whose first argument is the build and whose rows scan reads.
func listed[T any](ctx context.Context, s *Store, build string, scan func(func(...any) error) (T, error), query string, args ...any) (list []T, err error) {
	err = s.read(ctx, func(tx *sql.Tx) error {
		list = nil
		b, err := find(ctx, tx, build)
		if err != nil {
			return err
		}
		return rows(ctx, tx, func(row func(...any) error) error {
			x, err := scan(row)
			list = append(list, x)
			return err
		}, query, append([]any{b.id}, args...)...)
	})
	return list, err
}

// asSaved returns ErrDamaged where data do not agree with their hash.
func asSaved(what string, data, hash []byte) error {
	if sum := sha256.Sum256(data); !bytes.Equal(sum[:], hash) {
		return fmt.Errorf("%s is not what was saved: %w", what, ErrDamaged)
	}
	return nil
}
