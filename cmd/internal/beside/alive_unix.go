//go:build unix

package beside

import (
	"errors"
	"syscall"
)

// alive reports whether there is a process of a number; true if that can't be known.
func alive(pid int) bool { return !errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) }
