package notify

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net/mail"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"
)

// SMTP is the server that e-mail is sent by. The connection is encrypted by STARTTLS before anything is said on it, always.
type SMTP struct {
	Host         string `toml:"host"`
	Port         int    `toml:"port"` // 0 = 587
	User         string `toml:"user"` // "" = without a password
	From         string `toml:"from"`
	PasswordEnv  string `toml:"password_env"`
	PasswordFile string `toml:"password_file"`
	CAFile       string `toml:"ca_file"` // certificates to trust beside the system's
}

// Check says what is wrong, "" if nothing.
func (s SMTP) Check() string {
	switch {
	case s.Host == "" && s != SMTP{}:
		return "smtp.host is missing"
	case s.Host == "":
		return ""
	case strings.ContainsAny(s.Host, " \r\n\t/:"):
		return fmt.Sprintf("smtp.host = %q is no name of a host", s.Host)
	case s.Port < 0 || s.Port > 65535:
		return fmt.Sprintf("smtp.port = %d, allowed: 1 to 65535", s.Port)
	case s.User != "" && s.PasswordEnv == "" && s.PasswordFile == "":
		return "smtp.password_file or smtp.password_env is missing"
	}
	if _, err := mail.ParseAddress(s.From); err != nil || strings.ContainsAny(s.From, "\r\n") {
		return fmt.Sprintf("smtp.from = %q is no address", s.From)
	}
	return ""
}

// Secret reads the password.
func (s SMTP) Secret(getenv func(string) string) (string, error) {
	if s.User == "" {
		return "", nil
	}
	return readSecret("mail password", s.PasswordEnv, s.PasswordFile, getenv)
}

// longestSubject is the most runes of a subject.
const longestSubject = 160

// Send sends a message to m.To.
func (s SMTP) Send(ctx context.Context, m Message, getenv func(string) string) error {
	msg := gomail.NewMsg()
	if err := msg.From(s.From); err != nil {
		return &PermanentError{fmt.Errorf("from: %w", err)}
	}
	if strings.ContainsAny(m.To, "\r\n") {
		return &PermanentError{fmt.Errorf("to: %q is no address", m.To)}
	}
	if err := msg.To(m.To); err != nil {
		return &PermanentError{fmt.Errorf("to: %w", err)}
	}
	msg.Subject(oneLine(m.Subject, longestSubject))
	msg.SetMessageIDWithValue(oneLine(m.ID, 60) + "@feedline.invalid")
	msg.SetDateWithValue(m.At)
	msg.SetGenHeader("Auto-Submitted", "auto-generated")
	msg.SetBodyString(gomail.TypeTextPlain, m.Text)
	client, err := s.client(getenv)
	if err != nil {
		return err
	}
	return sendError(client.DialAndSendWithContext(ctx, msg))
}

func (s SMTP) client(getenv func(string) string) (*gomail.Client, error) {
	password, err := s.Secret(getenv)
	if err != nil {
		return nil, err
	}
	pool, err := trusted(s.CAFile)
	if err != nil {
		return nil, err
	}
	port := s.Port
	if port == 0 {
		port = gomail.DefaultPortTLS
	}
	opts := []gomail.Option{gomail.WithPort(port), gomail.WithTLSPolicy(gomail.TLSMandatory), gomail.WithTimeout(30 * time.Second),
		gomail.WithTLSConfig(&tls.Config{ServerName: s.Host, RootCAs: pool, MinVersion: tls.VersionTLS12})}
	if s.User != "" {
		opts = append(opts, gomail.WithSMTPAuth(gomail.SMTPAuthAutoDiscover), gomail.WithUsername(s.User), gomail.WithPassword(password))
	}
	return gomail.NewClient(s.Host, opts...)
}

// sendError tells failures that the server means for good (5xx) from those worth another try.
func sendError(err error) error {
	var send *gomail.SendError
	if errors.As(err, &send) && !send.IsTemp() && send.ErrorCode() >= 500 {
		return &PermanentError{err}
	}
	return err
}
