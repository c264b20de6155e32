package beside

import (
	"errors"
	"syscall"
)

// What Windows calls the least right to ask after a process, the error for a number that no process has, and the exit code of one
// that runs.
const (
	queryLimited     = 0x1000
	invalidParameter = syscall.Errno(87)
	stillActive      = 259
)

// alive reports whether there is a process of a number; true if that can't be known.
func alive(pid int) bool {
	h, err := syscall.OpenProcess(queryLimited, false, uint32(pid))
	if err != nil {
		return !errors.Is(err, invalidParameter)
	}
	defer syscall.CloseHandle(h)
	var code uint32
	return syscall.GetExitCodeProcess(h, &code) != nil || code == stillActive
}
