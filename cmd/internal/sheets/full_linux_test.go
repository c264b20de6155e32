package sheets

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// A full disk is told of by the name that was asked for, and nothing is left on it.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, "size=64k"); err != nil {
		t.Skipf("no small file system can be mounted here: %v", err)
	}
	defer func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	}()
	big := make([]byte, 1<<20)
	for name, put := range map[string]func(string) error{
		"page.html": func(dst string) error { return PutFile(dst, big, false) },
		"folder":    func(dst string) error { return PutFolder(dst, map[string][]byte{"a.csv": big}, false) },
	} {
		err := put(filepath.Join(dir, name))
		if err == nil || !strings.Contains(err.Error(), filepath.Join(dir, name)) || strings.Contains(err.Error(), leftover) {
			t.Errorf("%s: %v, want an error that names it", name, err)
		}
		if left, err := os.ReadDir(dir); err != nil || len(left) > 0 {
			t.Errorf("%s: left %v, %v", name, left, err)
		}
	}
}
