package watch

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"feedline/cmd/internal/book"
	"feedline/cmd/internal/watch/alert"
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
		keep := context.WithoutCancel(ctx)
		if err := d.Book.Sent(keep, m.ID, state, word, next); err != nil {
			return sent, trouble, err
		}
		if err := d.reached(keep, m, state, sendErr); err != nil {
			return sent, trouble, err
		}
	}
	return sent, trouble, nil
}

// silentTries is after how many failed tries, a quarter of an hour, a message that still waits is an alert.
const silentTries = 6

// errNotNamed says that whom a message was for is not in the configuration any more: nobody misses it.
var errNotNamed = errors.New("is not named any more")

// reached raises an alert when messages do not reach somebody, so that others and the watch's status tell of it, and clears it
// when one does.
func (d *Desk) reached(ctx context.Context, o book.Outgoing, state string, cause error) error {
	name := recipientOf(o)
	f := alert.Finding{Kind: alert.Job, Subject: name, Urgent: true, What: "messages by " + name + " do not arrive",
		Do: "mend what it says; feedline alerts lists what there was to tell"}
	var found []alert.Finding
	switch {
	case state == "sent":
		open, err := d.isOpen(ctx, f.Key())
		if err != nil || !open {
			return err
		}
	case errors.Is(cause, errNotNamed) || state == "waiting" && o.Tries+1 < silentTries:
		return nil
	default:
		f.Why = cause.Error()
		found = append(found, f)
	}
	d.mu.Lock()
	if d.unreached == nil {
		d.unreached = map[string]string{}
	}
	delete(d.unreached, name)
	if len(found) > 0 {
		d.unreached[name] = f.What + ": " + f.Why
	}
	d.mu.Unlock()
	rules := d.Config.Alerts
	rules.ClearAfter = 1
	_, err := d.tell(ctx, found, []string{f.Key()}, rules)
	return err
}

func (d *Desk) isOpen(ctx context.Context, key string) (bool, error) {
	list, err := d.Book.Alerts(ctx, true, 1000)
	return slices.ContainsFunc(list, func(a book.StoredAlert) bool { return a.Key == key }), err
}

// Unreached is what keeps messages from arriving, by recipient; nothing if all is well.
func (d *Desk) Unreached() (list []string) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Sorted(maps.Values(d.unreached))
}

// recipientOf is whom a message is for; of a webhook's address the host alone.
func recipientOf(o book.Outgoing) string {
	var m notify.Message
	_ = json.Unmarshal(o.Body, &m) // one that can't be read is for nobody
	switch o.Channel {
	case "mail":
		return "mail to " + m.To
	case "webhook":
		return "webhook at " + Host(m.To)
	}
	return o.Channel
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
			return &notify.PermanentError{Err: fmt.Errorf("%s %w", m.To, errNotNamed)}
		}
		return d.Config.SMTP.Send(ctx, m, d.Getenv)
	case "webhook":
		for _, h := range d.Config.Webhooks {
			if h.URL == m.To {
				return h.Send(ctx, m, d.Getenv)
			}
		}
		return &notify.PermanentError{Err: fmt.Errorf("the webhook at %s %w", Host(m.To), errNotNamed)}
	case "file":
		if d.Config.File.Path == "" {
			return &notify.PermanentError{Err: fmt.Errorf("the file %w", errNotNamed)}
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
