// Package backup puts all that an installation remembers into one file, and
// brings it back.
//
// A file is a tar archive packed with gzip, and in age's format around that
// where there is a passphrase, so that common tools open it without this
// program (age -d FILE | tar xz):
//
//	head.json        what is known before any table is read
//	tables/NAME/N    the rows of a table as COPY writes them, in pieces
//	manifest.json    the head, and of each table its rows and their checksum
//
// What is cut short has no manifest. Rows are read by COPY in one snapshot and
// not by pg_dump, since that must be of the server's version and on this
// machine, which it is not beside somebody else's server, nor in a container;
// and since the schema comes from our own migrations, a backup of any of their
// versions goes into any PostgreSQL and is migrated forward from there.
package backup

import (
	"errors"
	"fmt"
	"time"
)

// Format is the version of the file's form that this program writes. It reads
// no newer one.
const Format = 1

// What can be wrong with a backup, or with the place where it shall go.
var (
	ErrNotBackup  = errors.New("this file is no backup")
	ErrTorn       = errors.New("the backup is damaged or cut short")
	ErrLocked     = errors.New("the backup is encrypted, and no passphrase was given")
	ErrPassphrase = errors.New("the passphrase is wrong")
	ErrNewer      = errors.New("the backup was made by a newer program")
	ErrNotEmpty   = errors.New("the database is not empty")
	ErrBusy       = errors.New("another program is using the database")
	ErrMismatch   = errors.New("what was restored differs from the backup")
	ErrDiskFull   = errors.New("the disk has too little room")
)

// Manifest is what a backup says of itself.
type Manifest struct {
	Format       int        `json:"format"`
	Schema       int64      `json:"schema"`  // the last migration
	Program      string     `json:"program"` // that made it, in words
	Postgres     string     `json:"postgres"`
	MadeAt       time.Time  `json:"made_at"`
	Host         string     `json:"host"`         // that it was made on
	Installation string     `json:"installation"` // the same wherever it moves to
	Clubs        []string   `json:"clubs"`
	Tables       []Table    `json:"tables,omitempty"` // in the order of the archive
	Sequences    []Sequence `json:"sequences,omitempty"`
}

// Table is what the backup has of one table.
type Table struct {
	Name    string   `json:"name"`
	Columns []string `json:"columns"`
	Rows    int64    `json:"rows"`
	Bytes   int64    `json:"bytes"`
	SHA256  string   `json:"sha256"` // of its rows, as they stand in the pieces
}

// Sequence is how far a table's numbers have come.
type Sequence struct {
	Name string `json:"name"`
	Last int64  `json:"last"`
}

// Rows counts the rows of all tables.
func (m *Manifest) Rows() (n int64) {
	for _, t := range m.Tables {
		n += t.Rows
	}
	return n
}

// table finds a table by name; nil when the backup has none of that name.
func (m *Manifest) table(name string) *Table {
	for i := range m.Tables {
		if m.Tables[i].Name == name {
			return &m.Tables[i]
		}
	}
	return nil
}

// readable returns nil when this program knows the form and the schema.
func (m *Manifest) readable(newestSchema int64) error {
	switch {
	case m.Format > Format:
		return fmt.Errorf("%w: it has form %d and this program reads %d; install the newer program", ErrNewer, m.Format, Format)
	case m.Schema > newestSchema:
		return fmt.Errorf("%w: its schema is at %d and this program knows %d; install the newer program", ErrNewer, m.Schema, newestSchema)
	case m.Format < 1 || m.Schema < 1:
		return fmt.Errorf("%w: it names no form or no schema", ErrNotBackup)
	}
	return nil
}
