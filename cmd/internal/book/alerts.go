package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"
)

// StoredAlert is an alert as the book keeps it: what it is about is for its owner, package alert.
type StoredAlert struct {
	ID   int64 // 0 for one that is new
	Key  string
	Open bool
	Body json.RawMessage
}

// Outgoing is a message on its way.
type Outgoing struct {
	ID      int64
	Channel string
	Body    json.RawMessage
	Made    time.Time
	Tries   int
	Next    time.Time // not before
	Trouble string    // of the last try
}

// AlertChange is what a change of alerts comes to: alerts that are new or changed, messages about them and words for the log.
type AlertChange struct {
	Alerts   []*StoredAlert // the numbers of new ones are filled in
	Messages func() ([]Outgoing, error)
	Deeds    []Deed // Deed, Subject and Word are looked at
}

// Alerts lists alerts, newest first; only open ones, or the last most of all.
func (b *Book) Alerts(ctx context.Context, open bool, most int) (all []StoredAlert, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		all, err = alerts(ctx, tx, open, most)
		return err
	})
	return all, err
}

func alerts(ctx context.Context, tx *sql.Tx, open bool, most int) (all []StoredAlert, err error) {
	where := ""
	if open {
		where = "WHERE open"
	}
	rows, err := tx.QueryContext(ctx, "SELECT id, key, open, body FROM alerts "+where+" ORDER BY id DESC LIMIT ?", most)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var a StoredAlert
		var body string
		if err := rows.Scan(&a.ID, &a.Key, &a.Open, &body); err != nil {
			return nil, err
		}
		a.Body = json.RawMessage(body)
		all = append(all, a)
	}
	return all, rows.Err()
}

// recentAlerts is how many alerts ChangeAlerts hands over: those open, and enough of those cleared to know one that comes back.
const recentAlerts = 2000

// ChangeAlerts hands the newest alerts to f and keeps what it returns, in one transaction: nobody else's change comes between.
func (b *Book) ChangeAlerts(ctx context.Context, right Right, f func(recent []StoredAlert) (AlertChange, error)) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, right); err != nil {
			return err
		}
		recent, err := alerts(ctx, tx, false, recentAlerts)
		if err != nil {
			return err
		}
		c, err := f(recent)
		if err != nil {
			return err
		}
		for _, a := range c.Alerts {
			if err := keepAlert(ctx, tx, a); err != nil {
				return err
			}
		}
		if c.Messages != nil {
			list, err := c.Messages()
			if err != nil {
				return err
			}
			if err := b.post(ctx, tx, list); err != nil {
				return err
			}
		}
		for _, d := range c.Deeds {
			if err := b.did(ctx, tx, d.Deed, d.Subject, d.Word); err != nil {
				return err
			}
		}
		return nil
	})
}

func keepAlert(ctx context.Context, tx *sql.Tx, a *StoredAlert) error {
	if a.ID == 0 {
		res, err := tx.ExecContext(ctx, "INSERT INTO alerts (key, open, body) VALUES (?, ?, ?)", a.Key, a.Open, string(a.Body))
		if err != nil {
			return err
		}
		a.ID, err = res.LastInsertId()
		return err
	}
	_, err := tx.ExecContext(ctx, "UPDATE alerts SET open = ?, body = ? WHERE id = ?", a.Open, string(a.Body), a.ID)
	return err
}

func (b *Book) post(ctx context.Context, tx *sql.Tx, list []Outgoing) error {
	for _, m := range list {
		_, err := tx.ExecContext(ctx, "INSERT INTO outbox (channel, body, made, tries, next, state, trouble) VALUES (?, ?, ?, 0, ?, 'waiting', '')",
			m.Channel, string(m.Body), b.now(), stamp(m.Next))
		if err != nil {
			return err
		}
	}
	return nil
}

// Post puts messages into the outbox.
func (b *Book) Post(ctx context.Context, list []Outgoing) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightWatch); err != nil {
			return err
		}
		return b.post(ctx, tx, list)
	})
}

// Outbox lists the messages that wait, oldest first.
func (b *Book) Outbox(ctx context.Context) (all []Outgoing, err error) {
	err = b.read(ctx, func(tx *sql.Tx) error {
		rows, err := tx.QueryContext(ctx, "SELECT id, channel, body, made, tries, next, trouble FROM outbox WHERE state = 'waiting' ORDER BY id")
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var m Outgoing
			var body, made, next string
			if err := rows.Scan(&m.ID, &m.Channel, &body, &made, &m.Tries, &next, &m.Trouble); err != nil {
				return err
			}
			m.Body = json.RawMessage(body)
			if err := parseTimes([]string{made, next}, &m.Made, &m.Next); err != nil {
				return err
			}
			all = append(all, m)
		}
		return rows.Err()
	})
	return all, err
}

// Sent takes a message that was sent, or given up, out of those that wait; one that is neither is tried again at next.
func (b *Book) Sent(ctx context.Context, id int64, state string, trouble string, next time.Time) error {
	switch state {
	case "waiting", "sent", "given up":
	default:
		panic("book: no such state of a message")
	}
	return b.write(ctx, func(tx *sql.Tx) error {
		if err := b.may(ctx, tx, RightWatch); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, "UPDATE outbox SET state = ?, trouble = ?, next = ?, tries = tries + 1 WHERE id = ?", state, trouble, stamp(next), id); err != nil {
			return err
		}
		if state != "given up" {
			return nil
		}
		return b.did(ctx, tx, "message given up", fmt.Sprint(id), trouble)
	})
}
