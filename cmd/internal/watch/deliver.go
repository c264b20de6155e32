package watch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/notify"
)

// Deliver sends what waits in the outbox and is to be sent by now. It returns how many were sent and what went wrong. A message may
// reach its recipient twice if the program dies just after sending; its number is then the same.
func (d *Desk) Deliver(ctx context.Context) (sent int, trouble []string, err error) {
	list, err := d.Book.Outbox(ctx)
	if err != nil {
		return 0, nil, err
	}
	now := d.Clock.Now()
	for _, m := range list {
		if m.Next.After(now) && m.Next.Sub(now) < 5*time.Hour { // further off than any retry is a clock that was set back
			continue
		}
		if ctx.Err() != nil {
			return sent, trouble, nil
		}
		sendErr := d.send(ctx, m)
		if sendErr != nil && ctx.Err() != nil {
			return sent, trouble, nil // stopped: the next watch sends it
		}
		state, next, word := d.fate(m, sendErr)
		if state == "sent" {
			sent++
		} else {
			trouble = append(trouble, fmt.Sprintf("message %d by %s: %s (%s)", m.ID, m.Channel, word, state))
		}
		if err := d.Book.Sent(context.WithoutCancel(ctx), m.ID, state, word, next); err != nil {
			return sent, trouble, err
		}
	}
	return sent, trouble, nil
}

// fate is what becomes of a message after a try.
func (d *Desk) fate(m book.Outgoing, err error) (state string, next time.Time, word string) {
	now := d.Clock.Now()
	if err == nil {
		return "sent", now, ""
	}
	wait, again := notify.Retry(m.Tries + 1)
	var final *notify.PermanentError
	if errors.As(err, &final) || !again {
		return "given up", now, err.Error()
	}
	return "waiting", now.Add(wait), err.Error()
}

// send sends a message to an address that the configuration names now; others are not called any more.
func (d *Desk) send(ctx context.Context, o book.Outgoing) error {
	var m notify.Message
	if err := json.Unmarshal(o.Body, &m); err != nil {
		return &notify.PermanentError{Err: fmt.Errorf("can't be read: %w", err)}
	}
	ctx, stop := context.WithTimeout(ctx, time.Minute)
	defer stop()
	switch o.Channel {
	case "mail":
		if !slices.ContainsFunc(d.Config.To, func(r Recipient) bool { return r.Email == m.To }) || d.Config.SMTP.Host == "" {
			return &notify.PermanentError{Err: fmt.Errorf("%s is no recipient any more", m.To)}
		}
		return d.Config.SMTP.Send(ctx, m, d.Getenv)
	case "webhook":
		for _, h := range d.Config.Webhooks {
			if h.URL == m.To {
				return h.Send(ctx, m, d.Getenv)
			}
		}
		return &notify.PermanentError{Err: fmt.Errorf("the webhook at %s is not named any more", Host(m.To))}
	case "file":
		if d.Config.File.Path == "" {
			return &notify.PermanentError{Err: errors.New("no file is named any more")}
		}
		return notify.File{Path: d.Config.File.Path}.Send(ctx, m)
	}
	return &notify.PermanentError{Err: fmt.Errorf("there is no channel %q", o.Channel)}
}

// Sender delivers every few seconds until the context ends; report is told of trouble.
func (d *Desk) Sender(ctx context.Context, every time.Duration, report func(string)) {
	for {
		_, trouble, err := d.Deliver(ctx)
		if err != nil && ctx.Err() == nil {
			report("messages wait: " + err.Error())
		}
		for _, t := range trouble {
			report(t)
		}
		select {
		case <-ctx.Done():
			return
		case <-d.Clock.After(every):
		}
	}
}
