package book

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"github.com/pressly/goose/v3"

	"feedline/cmd/internal/beside"
)

//go:embed migrations/*.sql
var embedded embed.FS

// migrations is the steps that lead to a schema, files named by version as 00001_word.sql. Each sets user_version to its
// number in its own transaction, so that a book always says which it is.
type migrations struct{ files fs.FS }

func schema() migrations {
	sub, err := fs.Sub(embedded, "migrations")
	if err != nil {
		panic("book: the embedded migrations have no folder")
	}
	return migrations{sub}
}

// latest is the version that the last step leads to.
func (s migrations) latest() int {
	names, err := fs.Glob(s.files, "*.sql")
	if err != nil || len(names) == 0 {
		panic("book: no migrations")
	}
	last := 0
	for _, n := range names {
		number, _, _ := strings.Cut(n, "_")
		v, err := strconv.Atoi(number)
		if err != nil {
			panic("book: migration without a number")
		}
		last = max(last, v)
	}
	return last
}

// up applies the steps that a database has not seen.
func (s migrations) up(ctx context.Context, db *sql.DB) error {
	p, err := goose.NewProvider(goose.DialectSQLite3, db, s.files)
	if err != nil {
		return fmt.Errorf("schema of the book: %w", err)
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bring the book up to date: %w", err)
	}
	return nil
}

// upgrade brings a book of the given version up to date, after a copy of it was put beside it. Two processes may try at once:
// one of them then finds the work done.
func (s migrations) upgrade(db *sql.DB, path string, version int) error {
	if err := backUp(db, path, version); err != nil {
		return fmt.Errorf("copy the book before bringing it up to date: %w", err)
	}
	err := s.up(context.Background(), db)
	if err == nil {
		return nil
	}
	var now int
	if e := db.QueryRow("PRAGMA user_version").Scan(&now); e == nil && now == s.latest() {
		return nil
	}
	return err
}

// backUp writes a copy of the book, still of the given version, beside it as path.bak-vN, or, if there are some already, path.bak-vN.2 and so on.
func backUp(db *sql.DB, path string, version int) error {
	tmp, err := beside.Create(path)
	if err != nil {
		return err
	}
	defer removeDatabase(tmp.Name())
	if _, err := db.Exec("VACUUM INTO ?", tmp.Name()); err != nil {
		return errors.Join(err, tmp.Close())
	}
	if err := errors.Join(tmp.Chmod(0o644), tmp.Sync(), tmp.Close()); err != nil {
		return err
	}
	var now int
	if err := db.QueryRow("PRAGMA user_version").Scan(&now); err != nil || now != version {
		return err // nil: another process was sooner, the copy may be of what it has made, and it has put one of its own beside the book
	}
	first := fmt.Sprintf("%s.bak-v%d", path, version)
	name := first
	for n := 2; ; n++ {
		err := putInPlace(tmp.Name(), name)
		if !errors.Is(err, fs.ErrExist) {
			return err
		}
		name = fmt.Sprintf("%s.%d", first, n)
	}
}
