package sheets

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
)

// openFolder reads the CSV files of a folder. Links that lead out of it are not followed.
func openFolder(dir string) (*source, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	s := &source{name: dir}
	for _, e := range entries {
		name := e.Name()
		switch {
		case strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~"):
		case e.IsDir() || !strings.EqualFold(filepath.Ext(name), ".csv"):
			s.notes = append(s.notes, name+" is no CSV file and was passed over")
		default:
			if err := s.addFile(root, name); err != nil {
				return nil, err
			}
		}
	}
	if len(s.sheets) == 0 && s.bad.none() {
		s.bad.add(BadCell{File: filepath.Base(dir), Reason: "has no CSV files", Remedy: "write blank ones with feedline template, or name a workbook"})
	}
	return s, nil
}

// openOne reads a single CSV file, named after its table.
func openOne(file string) (*source, error) {
	root, err := os.OpenRoot(filepath.Dir(file))
	if err != nil {
		return nil, err
	}
	defer root.Close()
	s := &source{name: file}
	return s, s.addFile(root, filepath.Base(file))
}

func (s *source) addFile(root *os.Root, name string) error {
	data, err := readFile(root, name)
	if err != nil {
		return err
	}
	base := strings.TrimSuffix(name, filepath.Ext(name))
	t, ok := s.known(name, base)
	if !ok {
		return nil
	}
	if data == nil {
		s.bad.add(BadCell{File: name, Reason: fmt.Sprintf("is larger than %d MB", mostBytes>>20)})
		return nil
	}
	g, notes, bad := readCSV(name, data)
	if bad != nil {
		s.bad.add(*bad)
		return nil
	}
	s.notes = append(s.notes, notes...)
	s.put(t, g)
	return nil
}

// readFile reads a file of root; nil if it is too large.
func readFile(root *os.Root, name string) ([]byte, error) {
	f, err := root.Open(name)
	if err != nil {
		var p *fs.PathError
		if errors.As(err, &p) {
			err = p.Err
		}
		return nil, fmt.Errorf("open %s: %w", filepath.Join(root.Name(), name), err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &Error{Source: name, Cells: []BadCell{{File: name, Reason: "is not a file with sheets in it", Remedy: "name a CSV file or a workbook"}}}
	}
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > mostBytes {
		return nil, nil
	}
	return append([]byte{}, data...), nil
}

// known finds the table that a sheet is named after, and adds what is wrong if there is none or it is there already.
func (s *source) known(file, name string) (*table, bool) {
	t, ok := sheetNamed(name)
	if !ok {
		s.bad.add(BadCell{File: file, Reason: "is named after no table", Remedy: nearHeading(name, sheetNames())})
		return nil, false
	}
	for i, o := range s.tables {
		if o == t {
			s.bad.add(BadCell{File: file, Reason: fmt.Sprintf("is a second sheet of %s, beside %s", t.name, placeOf(s.sheets[i])), Remedy: "leave one of them out"})
			return nil, false
		}
	}
	return t, true
}

func placeOf(g *grid) string {
	if g.sheet != "" {
		return g.sheet
	}
	return g.file
}

func (s *source) put(t *table, g *grid) {
	s.tables, s.sheets = append(s.tables, t), append(s.sheets, g)
}
