package book

import (
	"database/sql"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"

	_ "modernc.org/sqlite" // the driver "sqlite"
)

// applicationID marks a book among SQLite files: "FEED". The first migration sets it.
const applicationID = 0x46454544

const (
	// busyMillis is how long a statement waits for another user of the book, milliseconds: far longer than any
	// transaction of feedline takes, short enough that somebody who waits learns why.
	busyMillis = "20000"
	// connections is the most connections that a process opens to a book: readers beside a writer.
	connections = 4
)

// dataSource names the file at path to the driver. Pragmas stand in it because each connection of a pool needs them.
// Transactions are immediate: one that began by reading could not wait for its turn to write.
func dataSource(path string, wal bool) (string, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return "", err
	}
	slashed := filepath.ToSlash(abs)
	if !strings.HasPrefix(slashed, "/") {
		slashed = "/" + slashed // C:/plant.book
	}
	q := url.Values{"mode": {"rw"}, "_txlock": {"immediate"}}
	q.Add("_pragma", "busy_timeout("+busyMillis+")")
	q.Add("_pragma", "foreign_keys(1)")
	q.Add("_pragma", "synchronous(FULL)")
	if wal {
		q.Add("_pragma", "journal_mode(WAL)")
	}
	return (&url.URL{Scheme: "file", Path: slashed, RawQuery: q.Encode()}).String(), nil
}

// connect opens the database at path and turns its write-ahead mode on.
func connect(path string) (*sql.DB, error) {
	dsn, err := dataSource(path, true)
	if err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(connections)
	if err := db.Ping(); err != nil {
		db.Close()
		return nil, err
	}
	return db, nil
}

// magic is what SQLite files begin with.
const magic = "SQLite format 3\x00"

// probe looks at the file at path without changing it, and returns the version of its schema. It refuses with an *OpenError what is
// not a book of at most the version latest.
func probe(path string, latest int) (version int, err error) {
	if err := looksLikeDatabase(path); err != nil {
		return 0, err
	}
	dsn, err := dataSource(path, false)
	if err != nil {
		return 0, openTrouble(path, err)
	}
	db, err := sql.Open("sqlite", dsn)
	if err != nil {
		return 0, openTrouble(path, err)
	}
	defer db.Close()
	var id int
	if err := db.QueryRow("SELECT application_id, user_version FROM pragma_application_id, pragma_user_version").Scan(&id, &version); err != nil {
		return 0, openTrouble(path, err)
	}
	switch {
	case id != applicationID || version < 1:
		return 0, &OpenError{path, "is a database of another program, not a plant book", notABook, ErrForeign}
	case version > latest:
		return 0, newer(path, version, latest)
	}
	return version, nil
}

// looksLikeDatabase refuses what is not a readable file that begins as SQLite files do.
func looksLikeDatabase(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return openTrouble(path, err)
	}
	switch {
	case info.IsDir():
		return &OpenError{path, "is a folder, not a plant book", "name the file in it with --book", ErrFolder}
	case !info.Mode().IsRegular():
		return &OpenError{path, "is no file", notABook, ErrNotDatabase}
	case info.Size() == 0:
		return &OpenError{path, "is empty", "remove it and make a book with: feedline init", ErrNotDatabase}
	}
	f, err := os.Open(path)
	if err != nil {
		return openTrouble(path, err)
	}
	defer f.Close()
	head := make([]byte, len(magic))
	if _, err := io.ReadFull(f, head); err != nil || string(head) != magic {
		return &OpenError{path, "is not a plant book", notABook, ErrNotDatabase}
	}
	return nil
}
