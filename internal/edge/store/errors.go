package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"strings"
	"syscall"

	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// The states of a file that stop a method. Each comes wrapped with the file's name; what was acknowledged
// before stays, and nothing of the change that failed is kept.
var (
	ErrReadOnly = errors.New("the file or its folder may only be read, so nothing was changed")
	ErrLocked   = errors.New("another program holds the file; nothing was changed, try again when it is done")
	ErrDamaged  = errors.New("the file is damaged; put a backup in its place, without the -wal and -shm files beside it")
	ErrFull     = errors.New("the disk is full; nothing of this change was kept, what was saved before is whole")
	ErrDisk     = errors.New("the disk refused to read or write; nothing of this change was kept")
	ErrNewer    = errors.New("the file was written by a newer noonmark; use that one")
	ErrNotStore = errors.New("no store of noonmark")
	ErrOpen     = errors.New("the file cannot be opened")
)

// The answers to a wrong question.
var (
	ErrNotFound = errors.New("not in the store")
	ErrExists   = errors.New("is there already")
	ErrNothing  = errors.New("nothing further that way") // no undo before the first, no redo after the last
)

// Conflict is a change based on a revision that is no longer the current one. Nothing was changed.
type Conflict struct {
	Build    string
	Base     int    // the revision the change was based on
	Head     int    // the current one
	BaseText []byte // of Base; nil when there is no such revision
	Yours    []byte // what was to be saved; nil for undo and redo
	Theirs   []byte // the current text
}

// Error says which revisions differ.
func (c *Conflict) Error() string {
	return fmt.Sprintf("%s: the change was based on revision %d, but the current one is %d; nothing was overwritten", c.Build, c.Base, c.Head)
}

// sorted returns err with the sentinel that tells its kind, and the file's name. An error that is not the
// database's or the system's comes back as it is.
func sorted(path string, err error) error {
	if err == nil || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	kind := kindOf(err)
	switch {
	case kind == nil || errors.Is(err, kind):
		return err
	case kind == ErrDamaged, kind == ErrDisk, kind == ErrOpen:
		return fmt.Errorf("%s: %w (%v)", path, kind, err)
	}
	return fmt.Errorf("%s: %w", path, kind)
}

// named is sorted with the file's name in front whatever the error is.
func named(path string, err error) error {
	if err = sorted(path, err); err == nil || strings.HasPrefix(err.Error(), path) {
		return err
	}
	return fmt.Errorf("%s: %w", path, err)
}

// kindOf returns the sentinel of an error of the database or the system; nil for any other.
func kindOf(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		switch {
		case err == nil:
		case errors.Is(err, syscall.ENOSPC):
			return ErrFull
		case errors.Is(err, syscall.EROFS), errors.Is(err, fs.ErrPermission):
			return ErrReadOnly
		case strings.HasPrefix(err.Error(), "sql: Scan error"): // a value of a kind that is never written
			return ErrDamaged
		}
		return nil
	}
	switch e.Code() {
	case lib.SQLITE_IOERR_SHORT_READ, lib.SQLITE_IOERR_CORRUPTFS:
		return ErrDamaged
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		return ErrLocked
	case lib.SQLITE_READONLY:
		return ErrReadOnly
	case lib.SQLITE_IOERR:
		return ErrDisk
	case lib.SQLITE_CORRUPT:
		return ErrDamaged
	case lib.SQLITE_FULL:
		return ErrFull
	case lib.SQLITE_CANTOPEN, lib.SQLITE_PERM:
		return ErrOpen
	case lib.SQLITE_NOTADB:
		return ErrNotStore
	case lib.SQLITE_INTERRUPT:
		return context.Canceled
	}
	return nil
}
