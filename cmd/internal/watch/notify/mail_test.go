package notify

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"io"
	"math/big"
	"net"
	"net/mail"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	"github.com/emersion/go-smtp"
)

// certificate makes a certificate for localhost, and a file to trust it by.
func certificate(t *testing.T) (tls.Certificate, string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	c := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true, BasicConstraintsValid: true,
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}}
	der, err := x509.CreateCertificate(rand.Reader, c, c, &key.PublicKey, key)
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "ca.pem")
	if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o600); err != nil {
		t.Fatal(err)
	}
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, file
}

// post is a mail server that keeps what it gets.
type post struct {
	mu     sync.Mutex
	got    []string // texts as they came
	to     []string
	secure []bool // whether the connection was encrypted when the sender was named
	refuse *smtp.SMTPError
}

const mailUser, mailPassword = "feedline", "open sesame"

func (p *post) NewSession(c *smtp.Conn) (smtp.Session, error) { return &session{p: p, c: c}, nil }

type session struct {
	p    *post
	c    *smtp.Conn
	user bool
}

func (s *session) AuthMechanisms() []string { return []string{sasl.Plain} }

func (s *session) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		if user != mailUser || password != mailPassword {
			return errors.New("wrong password")
		}
		s.user = true
		return nil
	}), nil
}

func (s *session) Mail(string, *smtp.MailOptions) error {
	if !s.user {
		return smtp.ErrAuthRequired
	}
	s.p.mu.Lock()
	defer s.p.mu.Unlock()
	_, secure := s.c.TLSConnectionState()
	s.p.secure = append(s.p.secure, secure)
	if s.p.refuse != nil {
		return s.p.refuse
	}
	return nil
}

func (s *session) Rcpt(to string, _ *smtp.RcptOptions) error {
	s.p.mu.Lock()
	defer s.p.mu.Unlock()
	s.p.to = append(s.p.to, to)
	return nil
}

func (s *session) Data(r io.Reader) error {
	text, err := io.ReadAll(r)
	s.p.mu.Lock()
	defer s.p.mu.Unlock()
	s.p.got = append(s.p.got, string(text))
	return err
}

func (s *session) Reset()        {}
func (s *session) Logout() error { return nil }

// serve starts a mail server, with STARTTLS or without, and returns settings for it.
func serve(t *testing.T, p *post, starttls bool) SMTP {
	t.Helper()
	cert, ca := certificate(t)
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	server := smtp.NewServer(p)
	server.Domain, server.AllowInsecureAuth = "localhost", true
	if starttls {
		server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}}
	}
	done := make(chan struct{})
	go func() {
		_ = server.Serve(l) // ends when it is closed
		close(done)
	}()
	t.Cleanup(func() { server.Close(); <-done })
	secret := filepath.Join(t.TempDir(), "password")
	if err := os.WriteFile(secret, []byte(mailPassword+"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	return SMTP{Host: "localhost", Port: l.Addr().(*net.TCPAddr).Port, User: mailUser, From: "Feedline <feedline@plant.example>", PasswordFile: secret, CAFile: ca}
}

func noEnv(string) string { return "" }

func message(subject, text string) Message {
	return Message{ID: "abc123", At: time.Date(2027, 1, 4, 5, 0, 0, 0, time.UTC), To: "Anna <anna@plant.example>", Subject: subject, Text: text}
}

func TestMailGoesEncryptedAndWhole(t *testing.T) {
	p := &post{}
	s := serve(t, p, true)
	text := "WH runs short: 113 455 kg; größer als 5 t\n.\nQUIT\n" + strings.Repeat("x", 2000) + "\n"
	if err := s.Send(context.Background(), message("white is short – at once", text), noEnv); err != nil {
		t.Fatal(err)
	}
	if len(p.got) != 1 || len(p.secure) != 1 || !p.secure[0] || p.to[0] != "anna@plant.example" {
		t.Fatalf("%d messages to %q, encrypted: %v", len(p.got), p.to, p.secure)
	}
	m, err := mail.ReadMessage(strings.NewReader(p.got[0]))
	if err != nil {
		t.Fatal(err)
	}
	for header, want := range map[string]string{"Message-Id": "<abc123@feedline.invalid>", "Auto-Submitted": "auto-generated", "From": `"Feedline" <feedline@plant.example>`} {
		if got := m.Header.Get(header); got != want {
			t.Errorf("%s: %q, want %q", header, got, want)
		}
	}
}

// Without encryption nothing is said: neither the password nor the message.
func TestMailIsNotSentInTheClear(t *testing.T) {
	p := &post{}
	s := serve(t, p, false)
	if err := s.Send(context.Background(), message("x", "y"), noEnv); err == nil || len(p.got)+len(p.secure) > 0 {
		t.Errorf("error %v; the server got %q", err, p.got)
	}
	q := &post{}
	s = serve(t, q, true)
	s.CAFile = "" // a certificate that nobody vouches for
	if err := s.Send(context.Background(), message("x", "y"), noEnv); err == nil || len(q.got)+len(q.secure) > 0 {
		t.Errorf("to a stranger: error %v; the server got %q", err, q.got)
	}
}

// Nothing in a subject, an address or a number makes a header or a recipient of its own.
func TestMailHeadersCantBeInjected(t *testing.T) {
	p := &post{}
	s := serve(t, p, true)
	for _, evil := range []string{"a\r\nBcc: eve@else.example", "a\nBcc: eve@else.example", "a\rBcc: eve@else.example", "a\u2028Bcc: x", "a\x00b", "\r\n\r\nbody", strings.Repeat("long ", 500), "=?utf-8?q?=0d=0aBcc:_eve?="} {
		m := message(evil, "text")
		m.ID = evil
		if err := s.Send(context.Background(), m, noEnv); err != nil {
			t.Errorf("%q: %v", evil, err)
		}
	}
	for _, got := range p.got {
		m, err := mail.ReadMessage(strings.NewReader(got))
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(m.Body)
		if err != nil || strings.TrimSpace(string(body)) != "text" {
			t.Errorf("body %q, %v", body, err)
		}
		for name := range m.Header {
			if strings.EqualFold(name, "Bcc") || strings.EqualFold(name, "Cc") {
				t.Errorf("a header %s in\n%s", name, got)
			}
		}
	}
	n := len(p.got)
	for _, to := range []string{"anna@plant.example\r\nRCPT TO:<eve@else.example>", "anna@plant.example, eve@else.example", "anna@plant.example>\r\nDATA", "not an address", ""} {
		m := message("x", "y")
		m.To = to
		var final *PermanentError
		if err := s.Send(context.Background(), m, noEnv); !errors.As(err, &final) {
			t.Errorf("to %q: %v, want it refused for good", to, err)
		}
	}
	if len(p.got) != n {
		t.Errorf("%d messages to wrong addresses were sent", len(p.got)-n)
	}
	for _, to := range p.to {
		if to != "anna@plant.example" {
			t.Errorf("sent to %q", to)
		}
	}
}

// A server that says no for good is not tried again; one that says not now is.
func TestMailRefusals(t *testing.T) {
	for code, final := range map[int]bool{550: true, 451: false} {
		p := &post{refuse: &smtp.SMTPError{Code: code, Message: "no"}}
		s := serve(t, p, true)
		err := s.Send(context.Background(), message("x", "y"), noEnv)
		var e *PermanentError
		if err == nil || errors.As(err, &e) != final {
			t.Errorf("%d: error %v, final %v, want %v", code, err, errors.As(err, &e), final)
		}
	}
}

func TestSecretsMustNotLieOpen(t *testing.T) {
	file := filepath.Join(t.TempDir(), "password")
	write := func(text string, mode os.FileMode) {
		t.Helper()
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(file, mode); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		text string
		mode os.FileMode
		word string
	}{{"x", 0o644, "chmod 600"}, {"x", 0o640, "chmod 600"}, {"", 0o600, "alone"}, {"a\nb\n", 0o600, "alone"}, {strings.Repeat("x", 5000), 0o600, "alone"}} {
		write(c.text, c.mode)
		var e *SecretError
		if _, err := readSecret("password", "", file, noEnv); !errors.As(err, &e) || !strings.Contains(e.Hint(), c.word) {
			t.Errorf("%.10q, mode %o: %v", c.text, c.mode, err)
		}
	}
	write("open sesame\r\n", 0o600)
	if s, err := readSecret("password", "", file, noEnv); err != nil || s != "open sesame" {
		t.Errorf("%q, %v", s, err)
	}
	env := func(name string) string { return map[string]string{"PW": "of the environment"}[name] }
	if s, err := readSecret("password", "PW", "", env); err != nil || s != "of the environment" {
		t.Errorf("%q, %v", s, err)
	}
	if _, err := readSecret("password", "OTHER", "", env); err == nil {
		t.Error("a variable that is not set: no error")
	}
}
