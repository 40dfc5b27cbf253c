package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"
)

// Backup writes the whole store as it stands into a new file, while it is in use, and checks that file before
// it gets its name. A file that is there is not written over: ErrExists. It returns the size in bytes.
func (s *Store) Backup(ctx context.Context, path string) (int64, error) {
	if _, err := os.Lstat(path); err == nil {
		return 0, fmt.Errorf("%s: %w", path, ErrExists)
	}
	if journal(path) {
		return 0, fmt.Errorf("%s-wal: %w; give another name", path, ErrExists)
	}
	f, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".new-*") // 0600: the user's own
	if err != nil {
		return 0, named(path, err)
	}
	part := f.Name()
	defer os.Remove(part)
	if err := f.Close(); err != nil {
		return 0, named(path, err)
	}
	if _, err := s.db.ExecContext(ctx, `VACUUM INTO ?`, part); err != nil {
		return 0, named(path, err)
	}
	copied, err := open(ctx, part, Options{Clock: s.clock, Wait: time.Second}, migrations, modeFrozen)
	if err != nil {
		return 0, named(path, err)
	}
	found, err := copied.integrity(ctx)
	if e := copied.Close(); err == nil {
		err = e
	}
	if err != nil {
		return 0, named(path, err)
	}
	if len(found) > 0 {
		return 0, fmt.Errorf("%s: %w (the copy: %s)", s.path, ErrDamaged, found[0])
	}
	info, err := os.Stat(part)
	if err != nil {
		return 0, named(path, err)
	}
	if err := place(part, path); errors.Is(err, fs.ErrExist) {
		return 0, fmt.Errorf("%s: %w", path, ErrExists)
	} else if err != nil {
		return 0, named(path, err)
	}
	return info.Size(), nil
}
