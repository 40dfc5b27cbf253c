// Package store is the one data file: builds as numbered revisions with the exact text the user typed,
// tags, photographs, and readings and logs as they came.
//
// An SQLite file, in write-ahead mode with full synchronisation: what a method acknowledged is on the
// disk. One exported method is one transaction, done whole or not at all. A change states the revision it
// was based on; one that is stale returns a *Conflict with both texts and changes nothing. Everything is
// validated before it is written, and the texts and pictures are held against their hashes when read.
//
// Bad input is a *problem.Error; the state of the file is one of the sentinel errors of this package. A
// file that cannot be written can still be read.
//
// Left out: accounts, encryption, and files larger than the limits below, which a store is not for. The
// journal beside the file (FILE-wal) belongs to it: copy a running store with Backup only.
package store
