package store

import (
	"context"
	"database/sql"
	"fmt"
)

// applicationID marks a file as ours: "NMRK".
const applicationID = 0x4e4d524b

// migrations bring a file from one version to the next, each in a transaction; the first makes it. They
// are only ever appended to: a test holds the text of each. Times are milliseconds since 1970 in UTC.
var migrations = []string{
	// 1: builds, their revisions, tags. The parent of a revision is the one it was made from; undo moves
	// the head to it, redo to the youngest child.
	`CREATE TABLE build (
	id      INTEGER PRIMARY KEY,
	name    TEXT NOT NULL,
	folded  TEXT NOT NULL UNIQUE,
	folder  TEXT NOT NULL,
	head    INTEGER NOT NULL,
	created INTEGER NOT NULL,
	changed INTEGER NOT NULL,
	FOREIGN KEY (id, head) REFERENCES revision (build, number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
CREATE TABLE revision (
	build  INTEGER NOT NULL REFERENCES build (id) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
	number INTEGER NOT NULL CHECK (number > 0),
	parent INTEGER CHECK (parent > 0 AND parent < number),
	text   BLOB NOT NULL,
	hash   BLOB NOT NULL CHECK (length(hash) = 32),
	note   TEXT NOT NULL,
	at     INTEGER NOT NULL,
	PRIMARY KEY (build, number),
	FOREIGN KEY (build, parent) REFERENCES revision (build, number) DEFERRABLE INITIALLY DEFERRED
) STRICT;
CREATE INDEX revision_parent ON revision (build, parent);
CREATE TABLE tag (
	build    INTEGER NOT NULL,
	folded   TEXT NOT NULL,
	name     TEXT NOT NULL,
	revision INTEGER NOT NULL,
	note     TEXT NOT NULL,
	at       INTEGER NOT NULL,
	PRIMARY KEY (build, folded),
	FOREIGN KEY (build, revision) REFERENCES revision (build, number) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED
) STRICT;
CREATE INDEX tag_revision ON tag (build, revision);`,
	// 2: photographs; a picture is kept once, whoever shows it.
	`CREATE TABLE picture (
	hash   BLOB PRIMARY KEY NOT NULL CHECK (length(hash) = 32),
	kind   TEXT NOT NULL CHECK (kind IN ('image/jpeg', 'image/png', 'image/webp')),
	width  INTEGER NOT NULL CHECK (width > 0),
	height INTEGER NOT NULL CHECK (height > 0),
	data   BLOB NOT NULL
) STRICT;
CREATE TABLE photo (
	id    INTEGER PRIMARY KEY AUTOINCREMENT,
	build INTEGER NOT NULL REFERENCES build (id) ON DELETE CASCADE,
	hash  BLOB NOT NULL REFERENCES picture (hash),
	name  TEXT NOT NULL,
	note  TEXT NOT NULL,
	at    INTEGER NOT NULL
) STRICT;
CREATE INDEX photo_build ON photo (build, at);
CREATE INDEX photo_hash ON photo (hash);`,
	// 3: records: readings, logs and whatever else belongs to a build, as it came.
	`CREATE TABLE record (
	id    INTEGER PRIMARY KEY AUTOINCREMENT,
	build INTEGER NOT NULL REFERENCES build (id) ON DELETE CASCADE,
	kind  TEXT NOT NULL,
	key   TEXT,
	name  TEXT NOT NULL,
	form  TEXT NOT NULL CHECK (form IN ('json', 'csv')),
	at    INTEGER NOT NULL,
	hash  BLOB NOT NULL CHECK (length(hash) = 32),
	data  BLOB NOT NULL,
	UNIQUE (build, kind, key)
) STRICT;
CREATE INDEX record_build ON record (build, kind, at);`,
}

// version returns the number of migrations a file has, 0 for an empty one, or ErrNotStore.
func version(ctx context.Context, q interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}) (int, error) {
	var id, v, tables int
	if err := q.QueryRowContext(ctx, `SELECT a.application_id, v.user_version, (SELECT count(*) FROM sqlite_schema)
		FROM pragma_application_id AS a, pragma_user_version AS v`).Scan(&id, &v, &tables); err != nil {
		return 0, err
	}
	if id == 0 && v == 0 && tables == 0 {
		return 0, nil
	}
	if id != applicationID || v < 1 {
		return 0, ErrNotStore
	}
	return v, nil
}

// migrate applies what a file lacks of list, each step in a transaction of its own.
func migrate(ctx context.Context, db *sql.DB, list []string) error {
	for {
		more, err := step(ctx, db, list)
		if err != nil || !more {
			return err
		}
	}
}

// step applies the next migration and reports whether there was one.
func step(ctx context.Context, db *sql.DB, list []string) (bool, error) {
	v, err := version(ctx, db)
	if err != nil || v == len(list) {
		return false, err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return false, err
	}
	defer tx.Rollback()
	if v, err = version(ctx, tx); err != nil { // another program may have been faster
		return false, err
	}
	if v > len(list) {
		return false, fmt.Errorf("%w: its version is %d, known here are up to %d", ErrNewer, v, len(list))
	}
	if v == len(list) {
		return false, nil
	}
	if _, err := tx.ExecContext(ctx, list[v]); err != nil {
		return false, fmt.Errorf("migration %d: %w", v+1, err)
	}
	if _, err := tx.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, v+1)); err != nil {
		return false, err
	}
	return true, tx.Commit()
}
