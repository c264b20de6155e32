package notify

import (
	"context"
	"encoding/json"
	"encoding/pem"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

const hookSecret = "key"

// hookTo is a hook that trusts a test server.
func hookTo(t *testing.T, s *httptest.Server) Hook {
	t.Helper()
	ca := filepath.Join(t.TempDir(), "ca.pem")
	if err := os.WriteFile(ca, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: s.Certificate().Raw}), 0o600); err != nil {
		t.Fatal(err)
	}
	return Hook{URL: s.URL + "/in", SecretEnv: "HOOK", CAFile: ca}
}

func hookEnv(name string) string { return map[string]string{"HOOK": hookSecret}[name] }

// The signature is held against RFC 4231, test case 7 for HMAC-SHA-256, whose data have a full stop to part stamp and body at,
// and against what the server computes of what it got.
func TestWebhookIsSigned(t *testing.T) {
	key := strings.Repeat("\xaa", 131)
	stamp, body7 := "This is a test using a larger than block-size key and a larger than block-size data", " The key needs to be hashed before being used by the HMAC algorithm."
	const want = "sha256=9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2"
	if got := Sign(key, stamp, []byte(body7)); got != want {
		t.Errorf("signature %q, want %q", got, want)
	}
	var got *http.Request
	var body []byte
	s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		got = r
		body, _ = io.ReadAll(r.Body)
	}))
	defer s.Close()
	m := message("white is short", "text")
	m.Alerts = json.RawMessage(`[{"kind":"short"}]`)
	if err := hookTo(t, s).Send(context.Background(), m, hookEnv); err != nil {
		t.Fatal(err)
	}
	if got.Method != http.MethodPost || got.URL.Path != "/in" || got.Header.Get(HeaderID) != m.ID {
		t.Errorf("%s %s, number %q", got.Method, got.URL, got.Header.Get(HeaderID))
	}
	if want := Sign(hookSecret, got.Header.Get(HeaderTime), body); got.Header.Get(HeaderSignature) != want {
		t.Errorf("signature %q, want %q", got.Header.Get(HeaderSignature), want)
	}
	var back Message
	if err := json.Unmarshal(body, &back); err != nil || back.Subject != m.Subject || back.To != "" || string(back.Alerts) != string(m.Alerts) {
		t.Errorf("body %s, %v", body, err)
	}
}

// A redirect is not followed, a proxy of the environment not used: nobody is called whom the user did not name.
func TestWebhookCallsNobodyElse(t *testing.T) {
	var called atomic.Int32
	other := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { called.Add(1) }))
	defer other.Close()
	t.Setenv("HTTPS_PROXY", other.URL)
	t.Setenv("https_proxy", other.URL)
	for _, code := range []int{301, 302, 303, 307, 308} {
		s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { http.Redirect(w, r, other.URL, code) }))
		var final *PermanentError
		if err := hookTo(t, s).Send(context.Background(), message("x", "y"), hookEnv); !errors.As(err, &final) || !strings.Contains(err.Error(), "redirects are not followed") {
			t.Errorf("%d: %v", code, err)
		}
		s.Close()
	}
	if n := called.Load(); n != 0 {
		t.Errorf("another server was called %d times", n)
	}
	for _, url := range []string{"http://localhost/x", "ftp://localhost", "https://", "file:///etc/passwd", "https://user:pw@host/", "%%%", ""} {
		if p := (Hook{URL: url, SecretEnv: "HOOK"}).Check(); p == "" {
			t.Errorf("%q was taken", url)
		}
	}
	if p := (Hook{URL: "https://host/x"}).Check(); !strings.Contains(p, "signed") {
		t.Errorf("a hook without a secret: %q", p)
	}
}

func TestWebhookAnswers(t *testing.T) {
	for code, want := range map[int]string{200: "done", 204: "done", 400: "final", 401: "final", 404: "final", 408: "again", 429: "again", 500: "again", 503: "again"} {
		s := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(code) }))
		err := hookTo(t, s).Send(context.Background(), message("x", "y"), hookEnv)
		got := "again"
		var final *PermanentError
		if errors.As(err, &final) {
			got = "final"
		} else if err == nil {
			got = "done"
		}
		if got != want {
			t.Errorf("%d: %s (%v), want %s", code, got, err, want)
		}
		s.Close()
	}
	s := httptest.NewTLSServer(http.NotFoundHandler())
	h := hookTo(t, s)
	s.Close() // nobody there
	var final *PermanentError
	if err := h.Send(context.Background(), message("x", "y"), hookEnv); err == nil || errors.As(err, &final) || strings.Contains(err.Error(), "/in") {
		t.Errorf("nobody there: %v", err)
	}
	untrusted := httptest.NewTLSServer(http.NotFoundHandler())
	defer untrusted.Close()
	h = hookTo(t, untrusted)
	h.CAFile = ""
	if err := h.Send(context.Background(), message("x", "y"), hookEnv); err == nil || !strings.Contains(err.Error(), "certificate") {
		t.Errorf("a certificate that nobody vouches for: %v", err)
	}
}

// Tries grow apart and end after about a day.
func TestRetries(t *testing.T) {
	total, last := time.Duration(0), time.Duration(0)
	n := 1
	for ; ; n++ {
		wait, ok := Retry(n)
		if !ok {
			break
		}
		if wait < last || wait > 4*time.Hour {
			t.Errorf("try %d waits %s after %s", n, wait, last)
		}
		total, last = total+wait, wait
	}
	if total < 12*time.Hour || total > 48*time.Hour {
		t.Errorf("given up after %s and %d tries", total, n)
	}
}

func TestFileGetsALineEach(t *testing.T) {
	f := File{filepath.Join(t.TempDir(), "alerts.jsonl")}
	for range 2 {
		if err := f.Send(context.Background(), message("a\nb", "line\nbreak \xff")); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(f.Path)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	if len(lines) != 2 {
		t.Fatalf("%d lines, want 2:\n%s", len(lines), text)
	}
	for _, l := range lines {
		var m Message
		if err := json.Unmarshal([]byte(l), &m); err != nil || m.Subject != "a\nb" {
			t.Errorf("%s: %v", l, err)
		}
	}
}
