// Package notify sends messages: by e-mail, to webhooks, into a file. It knows nothing of what they are about.
package notify

import (
	"fmt"
	"os"
	"runtime"
	"strings"
)

// SecretError says that a secret can't be had, or lies open.
type SecretError struct{ What, Reason, Remedy string }

func (e *SecretError) Error() string { return e.What + ": " + e.Reason }

// Hint is what to do.
func (e *SecretError) Hint() string { return e.Remedy }

// largestSecret is the most bytes of a file with a secret.
const largestSecret = 4096

// readSecret reads a secret from the variable env or from a file, of which at least one is named; "" if neither is.
func readSecret(what, env, file string, getenv func(string) string) (string, error) {
	if env != "" {
		if s := getenv(env); s != "" {
			return s, nil
		}
		return "", &SecretError{what, fmt.Sprintf("the variable %s is not set", env), "set it for feedline alone, as by EnvironmentFile= in its service"}
	}
	if file == "" {
		return "", nil
	}
	info, err := os.Stat(file)
	if err != nil {
		return "", fmt.Errorf("%s: %w", what, err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		return "", &SecretError{what, fmt.Sprintf("others may use %s: its mode is %04o", file, info.Mode().Perm()), "chmod 600 " + file}
	}
	if !info.Mode().IsRegular() || info.Size() > largestSecret {
		return "", &SecretError{what, file + " is no file with a secret", "put the secret alone into it, on one line"}
	}
	text, err := os.ReadFile(file)
	if err != nil {
		return "", fmt.Errorf("%s: %w", what, err)
	}
	s := strings.TrimRight(string(text), "\r\n")
	if s == "" || strings.ContainsAny(s, "\r\n") {
		return "", &SecretError{what, file + " is empty or has several lines", "put the secret alone into it, on one line"}
	}
	return s, nil
}
