package book

import (
	"context"
	"database/sql"
	"errors"
)

// Setting is a word that a program keeps in the book beside the plant's records, "" if it was never set.
// It is not part of the input and not in the log.
func (b *Book) Setting(ctx context.Context, name string) (value string, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		err := tx.QueryRowContext(ctx, "SELECT value FROM settings WHERE name = ?", name).Scan(&value)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return value, err
}

// SetSetting keeps a setting.
func (b *Book) SetSetting(ctx context.Context, name, value string) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightSetting); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, "INSERT INTO settings (name, value) VALUES (?, ?) ON CONFLICT DO UPDATE SET value = excluded.value", name, value)
		return err
	})
}
