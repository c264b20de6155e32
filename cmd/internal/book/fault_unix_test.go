//go:build linux

package book

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// smallDisk is a folder on a file system of so many kilobytes; the test is skipped where none can be mounted.
func smallDisk(t *testing.T, kilobytes int) string {
	t.Helper()
	dir := t.TempDir()
	if err := syscall.Mount("tmpfs", dir, "tmpfs", 0, fmt.Sprintf("size=%dk", kilobytes)); err != nil {
		t.Skipf("no small file system can be mounted here (%v); TestFileSizeLimit stands in for it", err)
	}
	t.Cleanup(func() {
		if err := syscall.Unmount(dir, syscall.MNT_DETACH); err != nil {
			t.Error(err)
		}
	})
	return dir
}

// saveUntilFull saves ever more until a save fails, and returns the last that was done and the error.
func saveUntilFull(t *testing.T, b *Book) (done int, err error) {
	t.Helper()
	for n := 1; n < 3000; n++ {
		if _, err := b.Save(ctx, laden(n), SaveOptions{}); err != nil {
			return n - 1, err
		}
	}
	t.Fatal("the disk was never full")
	return 0, nil
}

// A full disk refuses a save, a plan and a backup in words; what was there is there, and with room made the work goes on.
func TestDiskFull(t *testing.T) {
	dir := smallDisk(t, 3000)
	ballast := filepath.Join(dir, "ballast")
	if err := os.WriteFile(ballast, make([]byte, 800<<10), 0o600); err != nil {
		t.Fatal(err)
	}
	b, err := Create(filepath.Join(dir, "plant.book"))
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	done, err := saveUntilFull(t, b)
	var open *OpenError
	if !errors.As(err, &open) || !strings.Contains(err.Error(), "disk is full") || !strings.Contains(open.Hint(), "make room") {
		t.Errorf("a save on a full disk: %v", err)
	}
	in, _ := mustLoad(t, b)
	if n, err := ladenNumber(in); err != nil || n != done {
		t.Errorf("the book holds works %d, %v; %d were saved", n, err, done)
	}
	if err := b.Backup(ctx, filepath.Join(dir, "copy.book"), false); err == nil {
		t.Error("a backup on a full disk: no error")
	}
	for _, name := range names(t, dir) {
		if strings.HasPrefix(name, ".feedline-") || name == "copy.book" {
			t.Errorf("%s is left of what failed", name)
		}
	}
	if err := os.Remove(ballast); err != nil {
		t.Fatal(err)
	}
	mustSave(t, b, laden(5000))
	proven(t, b.Path())
	t.Logf("a disk of 3000 kB was full after %d saves of 401 orders", done)
}

// A book that a full disk leaves no room for is refused, and nothing of it stays to keep the disk full.
func TestNoRoomForABook(t *testing.T) {
	for kilobytes := 64; kilobytes <= 320; kilobytes += 64 {
		dir := smallDisk(t, kilobytes)
		b, err := Create(filepath.Join(dir, "plant.book"))
		if err == nil {
			b.Close()
			continue
		}
		if !errors.Is(err, ErrDisk) {
			t.Errorf("%d kB: %v, want it to be ErrDisk", kilobytes, err)
		}
		if left := names(t, dir); len(left) > 0 {
			t.Errorf("%d kB: %v is left", kilobytes, left)
		}
	}
}

// The same where the limit is on a file's size, in a process of its own.
func TestFileSizeLimit(t *testing.T) {
	if path := os.Getenv("FEEDLINE_TEST_LIMITED_BOOK"); path != "" {
		limit := syscall.Rlimit{Cur: 700 << 10, Max: 700 << 10}
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
			t.Skip(err)
		}
		b, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		done, err := saveUntilFull(t, b)
		fmt.Printf("done %d: %v\n", done, err)
		return
	}
	b := fresh(t)
	mustSave(t, b, laden(0))
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(os.Args[0], "-test.run", "^TestFileSizeLimit$", "-test.v")
	c.Env = append(os.Environ(), "FEEDLINE_TEST_LIMITED_BOOK="+b.Path())
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	var done int
	_, after, ok := strings.Cut(string(out), "done ")
	if _, err := fmt.Sscanf(after, "%d", &done); !ok || err != nil || !strings.Contains(after, "can't be") {
		t.Fatalf("the writer said:\n%s", out)
	}
	in, _ := reopened(t, b.Path())
	if n, err := ladenNumber(in); err != nil || n != done {
		t.Errorf("the book holds works %d, %v; %d were saved", n, err, done)
	}
	proven(t, b.Path())
}

// asNobody runs a test of this file as the user nobody; it needs to be root for that.
func asNobody(t *testing.T, name, path string) string {
	t.Helper()
	if os.Getuid() != 0 {
		t.Skip("only root can run a program as another user")
	}
	binary := filepath.Join(t.TempDir(), "test")
	data, err := os.ReadFile("/proc/self/exe")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(binary, data, 0o755); err != nil {
		t.Fatal(err)
	}
	for dir := filepath.Dir(binary); len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for dir := filepath.Dir(filepath.Dir(path)); len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	c := exec.Command(binary, "-test.run", "^"+name+"$", "-test.v")
	c.Dir = "/"
	c.Env = append(os.Environ(), "FEEDLINE_TEST_NOBODY="+path, "USER=root", "LOGNAME=root")
	c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	out, err := c.CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return string(out)
}

// tryAll opens, loads and saves as whoever this is, and prints what comes of it.
func tryAll(path string) {
	b, err := Open(path)
	if err != nil {
		fmt.Printf("open: %v | %v\n", err, errors.Is(err, fs.ErrPermission))
		return
	}
	defer b.Close()
	in, _, err := b.Load(ctx)
	fmt.Printf("load as %s: %v\n", b.actor.Name, err)
	if err != nil {
		return
	}
	in.Plant.Name = "of nobody"
	_, err = b.Save(ctx, in, SaveOptions{})
	fmt.Printf("save: %v | %v\n", err, errors.Is(err, fs.ErrPermission))
}

// A folder or a book that may not be written is refused in words, and left as it is. So is one whose permission is lost while it is open.
func TestPermissionLost(t *testing.T) {
	if path := os.Getenv("FEEDLINE_TEST_NOBODY"); path != "" {
		tryAll(path)
		return
	}
	b := fresh(t)
	mustSave(t, b, small())
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Dir(b.Path())
	for _, c := range []struct {
		what       string
		dirMode    os.FileMode
		bookMode   os.FileMode
		word       string
		permission bool
	}{
		{"folder that may not be written", 0o755, 0o666, "open: ", false},
		{"book that may not be written", 0o777, 0o644, "may not be", true},
		{"book that may not be read", 0o777, 0o600, "may not be read", true},
		{"folder that may not be entered", 0o700, 0o666, "may not be read", true},
	} {
		if err := errors.Join(os.Chmod(dir, c.dirMode), os.Chmod(b.Path(), c.bookMode)); err != nil {
			t.Fatal(err)
		}
		before, err := os.ReadFile(b.Path())
		if err != nil {
			t.Fatal(err)
		}
		out := asNobody(t, "TestPermissionLost", b.Path())
		if !strings.Contains(out, c.word) || strings.Contains(out, "panic") || c.permission && !strings.Contains(out, "| true") {
			t.Errorf("%s:\n%s", c.what, out)
		}
		after, err := os.ReadFile(b.Path())
		if err != nil || string(before) != string(after) {
			t.Errorf("%s: the book was changed, %v", c.what, err)
		}
		proven(t, b.Path())
	}
}

// Roles count for the system's user who runs the program, whatever $USER says: nobody, with $USER set to root, is denied.
func TestRolesOfTheSystemsUser(t *testing.T) {
	if path := os.Getenv("FEEDLINE_TEST_NOBODY"); path != "" {
		tryAll(path)
		return
	}
	b := fresh(t)
	mustSave(t, b, small())
	grant(t, b, Grant{"user", b.actor.Name, RoleAdmin})
	if err := errors.Join(b.Close(), os.Chmod(filepath.Dir(b.Path()), 0o777), os.Chmod(b.Path(), 0o666)); err != nil {
		t.Fatal(err)
	}
	if out := asNobody(t, "TestRolesOfTheSystemsUser", b.Path()); !strings.Contains(out, "load as nobody: <nil>") || !strings.Contains(out, "save: nobody may not change plant") {
		t.Errorf("nobody without a role:\n%s", out)
	}
	again, err := Open(b.Path())
	if err != nil {
		t.Fatal(err)
	}
	grant(t, again, Grant{"group", "nogroup", RoleScheduler})
	again.Close()
	if out := asNobody(t, "TestRolesOfTheSystemsUser", b.Path()); !strings.Contains(out, "save: <nil>") {
		t.Errorf("nobody, of a group that schedules:\n%s", out)
	}
}

// The clock set back leaves the log readable and in its order; versions only grow.
func TestClockSetBack(t *testing.T) {
	b := fresh(t)
	now := time.Date(2027, 10, 31, 0, 30, 0, 0, time.UTC)
	b.clock = func() time.Time { return now }
	last := mustSave(t, b, laden(1))
	for n, step := range []time.Duration{-time.Hour, -365 * 24 * time.Hour, 2 * 365 * 24 * time.Hour} {
		now = now.Add(step)
		v := mustSave(t, b, laden(n+2))
		if v <= last {
			t.Errorf("version %d after %d", v, last)
		}
		last = v
	}
	list, err := b.Changes(ctx, 0)
	if err != nil || len(list) == 0 || list[len(list)-1].Version != last {
		t.Errorf("%d changes, %v", len(list), err)
	}
	proven(t, b.Path())
}
