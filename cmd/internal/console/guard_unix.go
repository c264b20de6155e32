//go:build unix

package console

import (
	"os/signal"
	"syscall"
)

// ignoreSignals lets the guard outlive the console: only the end of its pipe ends it. Without SIGTTOU ignored it could not
// restore a terminal that a shell has taken over.
func ignoreSignals() {
	signal.Ignore(syscall.SIGTTOU, syscall.SIGTTIN, syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT)
}
