package notify

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"crypto/tls"
	"crypto/x509"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"time"
)

// Hook is an address that messages are posted to as JSON.
type Hook struct {
	URL        string   `toml:"url"`
	SecretEnv  string   `toml:"secret_env"`
	SecretFile string   `toml:"secret_file"`
	CAFile     string   `toml:"ca_file"` // certificates to trust beside the system's
	Alerts     []string `toml:"alerts"`
}

// The headers of a call. The signature is "sha256=" and the hexadecimal HMAC-SHA256, keyed by the secret, of the time, a full stop and
// the body; whoever receives it should compute it again and refuse calls that are older than a few minutes.
const (
	HeaderSignature = "X-Feedline-Signature"
	HeaderTime      = "X-Feedline-Time" // seconds since 1970
	HeaderID        = "X-Feedline-Id"   // the same when a call is repeated
)

// Check says what is wrong, "" if nothing.
func (h Hook) Check() string {
	u, err := url.Parse(h.URL)
	switch {
	case err != nil || u.Host == "":
		return "url is no address; write it as https://host/path"
	case u.Scheme != "https":
		return "url must begin with https://"
	case u.User != nil:
		return "url holds a user: a secret must not stand in this file"
	case h.SecretEnv == "" && h.SecretFile == "":
		return "secret_file or secret_env is missing: calls are signed"
	}
	return ""
}

// Secret reads the secret that signs calls.
func (h Hook) Secret(getenv func(string) string) (string, error) {
	return readSecret("webhook secret", h.SecretEnv, h.SecretFile, getenv)
}

// Sign is the value of HeaderSignature.
func Sign(secret, stamp string, body []byte) string {
	m := hmac.New(sha256.New, []byte(secret))
	m.Write([]byte(stamp + "."))
	m.Write(body)
	return "sha256=" + hex.EncodeToString(m.Sum(nil))
}

// trusted is the certificates to trust, nil for the system's alone.
func trusted(file string) (*x509.CertPool, error) {
	if file == "" {
		return nil, nil
	}
	pem, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	pool, err := x509.SystemCertPool()
	if err != nil {
		pool = x509.NewCertPool()
	}
	if !pool.AppendCertsFromPEM(pem) {
		return nil, fmt.Errorf("%s holds no certificate", file)
	}
	return pool, nil
}

// Send calls the hook. It follows no redirect and uses no proxy, so that no address is called but the one that the user named.
func (h Hook) Send(ctx context.Context, m Message, getenv func(string) string) error {
	if p := h.Check(); p != "" {
		return &PermanentError{fmt.Errorf("webhook: %s", p)}
	}
	secret, err := h.Secret(getenv)
	if err != nil {
		return err
	}
	pool, err := trusted(h.CAFile)
	if err != nil {
		return err
	}
	m.To = ""
	body, err := json.Marshal(m)
	if err != nil {
		return &PermanentError{err}
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, h.URL, bytes.NewReader(body))
	if err != nil {
		return &PermanentError{err}
	}
	stamp := strconv.FormatInt(time.Now().Unix(), 10)
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "feedline")
	req.Header.Set(HeaderTime, stamp)
	req.Header.Set(HeaderID, m.ID)
	req.Header.Set(HeaderSignature, Sign(secret, stamp, body))
	transport := &http.Transport{Proxy: nil, TLSClientConfig: &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}, DisableKeepAlives: true}
	client := http.Client{Transport: transport, Timeout: 30 * time.Second,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	if err != nil {
		return fmt.Errorf("webhook %s: %w", req.URL.Host, unwrapURL(err))
	}
	defer res.Body.Close()
	_, _ = io.Copy(io.Discard, io.LimitReader(res.Body, 64<<10))
	return verdict(req.URL.Host, res.StatusCode)
}

// unwrapURL takes the address out of an error: its path may be as good as a secret.
func unwrapURL(err error) error {
	if u, ok := err.(*url.Error); ok {
		return u.Err
	}
	return err
}

// verdict is what an answer means: 2xx is done, 408, 425, 429 and 5xx may be mended by trying again, all else is final.
func verdict(host string, code int) error {
	err := fmt.Errorf("webhook %s answered %d %s", host, code, http.StatusText(code))
	switch {
	case code >= 200 && code < 300:
		return nil
	case code >= 300 && code < 400:
		return &PermanentError{fmt.Errorf("%w: redirects are not followed, name the address that it leads to", err)}
	case code == http.StatusRequestTimeout, code == http.StatusTooEarly, code == http.StatusTooManyRequests, code >= 500:
		return err
	}
	return &PermanentError{err}
}
