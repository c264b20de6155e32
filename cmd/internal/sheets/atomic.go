package sheets

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"feedline/cmd/internal/beside"
)

// ExistsError says that there is something in the way of what was to be written.
type ExistsError struct{ Path string }

func (e *ExistsError) Error() string { return e.Path + " is there already" }

// Hint is what to do.
func (e *ExistsError) Hint() string { return "name another place, or overwrite it with --force" }

// Is makes it an fs.ErrExist.
func (e *ExistsError) Is(target error) bool { return target == fs.ErrExist }

// PlaceError says that sheets can't be written to where they were to go.
type PlaceError struct{ Path, Reason string }

func (e *PlaceError) Error() string { return e.Path + " " + e.Reason }

// Hint is what to do.
func (e *PlaceError) Hint() string { return "name a folder, or a file that ends in .xlsx" }

// unnamed is a system's error without the name of a temporary file, which says nothing to a user.
func unnamed(dst string, err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("write %s: %w", dst, p.Err)
	}
	return err
}

// PutFile writes a file so that it appears whole or not at all, even if the process is killed: beside its place,
// synced, renamed. The error is an *ExistsError if it is there already and force is not given.
func PutFile(dst string, data []byte, force bool) error {
	if _, err := os.Lstat(dst); err == nil && !force {
		return &ExistsError{dst}
	}
	dir := filepath.Dir(dst)
	tmp, err := beside.Create(dst)
	if err != nil {
		return unnamed(dst, err)
	}
	defer os.Remove(tmp.Name()) // nothing is there any more once it is renamed
	if err := fill(tmp, data); err != nil {
		return unnamed(dst, err)
	}
	if err := os.Rename(tmp.Name(), dst); err != nil {
		return err
	}
	return syncDir(dir)
}

func fill(f *os.File, data []byte) error {
	_, err := f.Write(data)
	return errors.Join(err, f.Chmod(0o644), f.Sync(), f.Close())
}

// PutFolder writes files to a folder. A folder that is not there appears with all of them or not at all; in one that is there,
// each file is replaced whole. Other files in it are left alone. All are written before the first is put in place.
func PutFolder(dst string, files map[string][]byte, force bool) error {
	dst = filepath.Clean(dst)
	old, err := os.ReadDir(dst)
	fresh := errors.Is(err, fs.ErrNotExist)
	switch {
	case err != nil && !fresh:
		return err
	case slices.ContainsFunc(old, inTheWay) && !force:
		return &ExistsError{dst}
	}
	parent := dst // where renames stay within one file system
	if fresh {
		parent = filepath.Dir(dst)
	}
	tmp, err := beside.Mkdir(parent)
	if err != nil {
		return unnamed(dst, err)
	}
	defer os.RemoveAll(tmp)
	var order []string
	for name, data := range files {
		f, err := os.Create(filepath.Join(tmp, name))
		if err != nil {
			return unnamed(filepath.Join(dst, name), err)
		}
		if err := fill(f, data); err != nil {
			return unnamed(filepath.Join(dst, name), err)
		}
		order = append(order, name)
	}
	if fresh {
		if err := errors.Join(os.Chmod(tmp, 0o755), syncDir(tmp), os.Rename(tmp, dst)); err != nil {
			return err
		}
		return syncDir(parent)
	}
	slices.Sort(order)
	for _, name := range order {
		if err := os.Rename(filepath.Join(tmp, name), filepath.Join(dst, name)); err != nil {
			return fmt.Errorf("put %s in place: %w", name, err)
		}
	}
	return syncDir(dst)
}

// leftover begins the names of what a process that was killed may leave; Read passes it over.
const leftover = beside.Prefix

func inTheWay(e fs.DirEntry) bool { return !strings.HasPrefix(e.Name(), leftover) }

// syncDir makes renames in a folder last. Systems that can't sync a folder don't need it or have no way.
func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	_ = d.Sync()
	return nil
}
