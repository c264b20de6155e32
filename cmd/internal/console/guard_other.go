//go:build !unix

package console

import (
	"os"
	"os/signal"
)

// ignoreSignals lets the guard outlive the console: only the end of its pipe ends it.
func ignoreSignals() { signal.Ignore(os.Interrupt) }
