// Package beside makes files beside the place that they are to have, so that a rename puts them there whole, and takes out what a
// process that was killed has left of them. Their names tell which process they belong to:
//
//	.feedline-SYSTEM-PID-RANDOM.tmp
//
// SYSTEM stands for the running system as processes see one another: host, start of the machine and, in Linux, the space of process
// numbers. A file is surely an orphan if its SYSTEM is this one and no process has its PID.
package beside

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Prefix begins the names; readers of folders pass such names over.
const Prefix = ".feedline-"

// Age is from when on a file whose process can't be known is an orphan too.
const Age = 24 * time.Hour

// pattern is what os.CreateTemp is asked for.
func pattern() string { return Prefix + Self() + "-*.tmp" }

// Self is SYSTEM-PID of this process.
func Self() string { return fmt.Sprintf("%s-%d", system(), os.Getpid()) }

// Create makes a file that is to become dst, in the same folder.
func Create(dst string) (*os.File, error) { return os.CreateTemp(filepath.Dir(dst), pattern()) }

// Mkdir makes a folder within dir.
func Mkdir(dir string) (string, error) { return os.MkdirTemp(dir, pattern()) }

// Write writes a file beside its place, syncs and renames it. Readable by all unless private.
func Write(dst string, data []byte, private bool) error {
	f, err := Create(dst)
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // nothing is there any more once it is renamed
	_, err = f.Write(data)
	if err == nil && !private {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync()
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), dst)
}

// Sweep takes orphans out of a folder and returns their names. What can't be taken out is left and not named.
func Sweep(dir string, now time.Time) (gone []string) {
	list, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	for _, e := range list {
		if !strings.HasPrefix(e.Name(), Prefix) || !strings.Contains(e.Name(), ".tmp") {
			continue
		}
		info, err := e.Info()
		if err != nil || !info.Mode().IsRegular() && !info.IsDir() {
			continue
		}
		if !Orphan(e.Name()) && now.Sub(info.ModTime()) <= Age {
			continue
		}
		if os.RemoveAll(filepath.Join(dir, e.Name())) == nil {
			gone = append(gone, e.Name())
		}
	}
	return gone
}

// Orphan reports whether a name that holds SYSTEM-PID is surely of a process that has ended.
func Orphan(name string) bool {
	pid, ok := owner(name)
	return ok && pid != os.Getpid() && !alive(pid)
}

// Living reports whether a name that holds SYSTEM-PID is of another process that runs.
func Living(name string) bool {
	pid, ok := owner(name)
	return ok && pid != os.Getpid() && alive(pid)
}

// owner is the PID in a name that holds this SYSTEM.
func owner(name string) (pid int, ok bool) {
	_, rest, ok := strings.Cut(name, system()+"-")
	digits := 0
	for digits < len(rest) && rest[digits] >= '0' && rest[digits] <= '9' {
		digits++
	}
	pid, err := strconv.Atoi(rest[:digits])
	return pid, ok && err == nil && pid > 0
}

// system is SYSTEM, twelve hexadecimal digits.
var system = sync.OnceValue(func() string {
	host, _ := os.Hostname()
	boot, _ := os.ReadFile("/proc/sys/kernel/random/boot_id")
	space, _ := os.Readlink("/proc/self/ns/pid")
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\n%s\n%s", host, boot, space))
	return hex.EncodeToString(sum[:6])
})
