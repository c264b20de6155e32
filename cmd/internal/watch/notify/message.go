package notify

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"time"
	"unicode"
)

// Message is what is sent.
type Message struct {
	ID      string          `json:"id"` // the same when it is sent again
	At      time.Time       `json:"at"`
	To      string          `json:"to,omitempty"` // an e-mail address, or the webhook's URL
	Subject string          `json:"subject"`
	Text    string          `json:"text"`
	Alerts  json.RawMessage `json:"alerts,omitempty"` // the alerts that it is about, as feedline alerts --json has them
}

// PermanentError is a failure that trying again won't mend.
type PermanentError struct{ Err error }

func (e *PermanentError) Error() string { return e.Err.Error() }
func (e *PermanentError) Unwrap() error { return e.Err }

// oneLine is a text without line breaks and control characters, shortened to most runes: what may stand in a header.
func oneLine(s string, most int) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == '\u2028' || r == '\u2029' || r == unicode.ReplacementChar {
			return ' '
		}
		return r
	}, strings.ToValidUTF8(s, " "))
	s = strings.Join(strings.Fields(s), " ")
	if list := []rune(s); len(list) > most {
		return string(list[:most-1]) + "…"
	}
	return s
}

// Retry is how long to wait after so many failed tries: 30 s, doubled each time, at most four hours; ok is false once it
// is to be given up, after about a day.
func Retry(tries int) (wait time.Duration, ok bool) {
	const mostTries = 16
	if tries >= mostTries {
		return 0, false
	}
	return min(30*time.Second<<max(tries-1, 0), 4*time.Hour), true
}

// File adds a line of JSON to a file for each message.
type File struct{ Path string }

// Send adds the line and syncs the file.
func (f File) Send(_ context.Context, m Message) error {
	m.Text = strings.ToValidUTF8(m.Text, "\uFFFD")
	line, err := json.Marshal(m)
	if err != nil {
		return &PermanentError{fmt.Errorf("the message is no JSON: %w", err)}
	}
	out, err := os.OpenFile(f.Path, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		return err
	}
	_, err = out.Write(append(line, '\n'))
	return errors.Join(err, out.Sync(), out.Close())
}
