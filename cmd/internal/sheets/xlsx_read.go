package sheets

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// Limits against workbooks that unpack to more than a plant can have. A part that is larger than the
// second is unpacked to a file instead of to memory.
const (
	mostUnpacked = 256 << 20 // bytes, of all parts together
	mostInMemory = 32 << 20  // bytes, of one part
	mostMerged   = 1000      // cells in a sheet
)

func openWorkbook(src string) (*source, error) {
	root, err := os.OpenRoot(filepath.Dir(src))
	if err != nil {
		return nil, err
	}
	defer root.Close()
	data, err := readFile(root, filepath.Base(src))
	if err != nil {
		return nil, err
	}
	s := &source{name: src}
	if data == nil {
		s.bad.add(BadCell{File: filepath.Base(src), Reason: fmt.Sprintf("is larger than %d MB", mostBytes>>20)})
		return s, nil
	}
	s.addWorkbook(data)
	return s, nil
}

// addWorkbook takes over the sheets of a workbook.
func (s *source) addWorkbook(data []byte) {
	file := filepath.Base(s.name)
	b, err := unpack(file, data)
	if err != nil {
		bad := BadCell{File: file, Reason: "can't be read as a workbook: " + strings.TrimPrefix(err.Error(), "zip: "), Remedy: "save it as .xlsx without a password"}
		if errors.As(err, new(*limitError)) {
			bad.Reason, bad.Remedy = err.Error(), "split it, or take out what is no table"
		}
		s.bad.add(bad)
		return
	}
	s.notes = append(s.notes, b.notes...)
	for _, x := range b.bad {
		s.bad.add(x)
	}
	for _, g := range b.grids {
		t, ok := s.known(file+", sheet "+g.sheet, g.sheet)
		if ok {
			s.put(t, g)
		}
	}
	if len(b.grids) == 0 && s.bad.none() {
		s.bad.add(BadCell{File: file, Reason: "has no sheets with anything in them", Remedy: "start from feedline template " + file})
	}
}

// limitError is a workbook that is too large.
type limitError struct{ what string }

func (e *limitError) Error() string { return e.what }

// unpacked is what a workbook holds.
type unpacked struct {
	file  string
	grids []*grid // of visible sheets with content
	notes []string
	bad   []BadCell
	f     *excelize.File
	looks map[int]look // of the styles met so far
	shift float64      // days from the workbook's epoch to 1900's
}

// unpack reads a workbook's visible sheets.
func unpack(file string, data []byte) (u *unpacked, err error) {
	defer func() { // a damaged workbook can make the library that reads it fail where it should return an error
		if recover() != nil {
			u, err = nil, errors.New("it is damaged")
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true, UnzipSizeLimit: mostUnpacked, UnzipXMLSizeLimit: mostInMemory})
	if err != nil {
		if strings.Contains(err.Error(), "unzip size exceeds") {
			return nil, &limitError{fmt.Sprintf("unpacks to more than %d MB", mostUnpacked>>20)}
		}
		return nil, err
	}
	defer f.Close()
	u = &unpacked{file: file, f: f, looks: map[int]look{}}
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil && *props.Date1904 {
		u.shift = 1462 // days from 1900-01-01's count to 1904's
	}
	for _, name := range f.GetSheetList() {
		if err := u.addSheet(name); err != nil {
			return nil, err
		}
	}
	return u, nil
}

func (u *unpacked) addSheet(name string) error {
	if strings.HasPrefix(name, "#") {
		return nil
	}
	visible, err := u.f.GetSheetVisible(name)
	if err != nil {
		return err
	}
	if !visible {
		u.notes = append(u.notes, fmt.Sprintf("%s: sheet %s is hidden and was passed over", u.file, name))
		return nil
	}
	texts, err := u.texts(name)
	if err != nil {
		return err
	}
	merges, err := u.f.GetMergeCells(name)
	if err != nil {
		return err
	}
	if len(merges) > mostMerged {
		return &limitError{fmt.Sprintf("sheet %s has more than %d merged cells", name, mostMerged)}
	}
	g := &grid{file: u.file, sheet: name}
	formulas := 0
	for r, line := range texts {
		var row []cell
		for c, text := range line {
			x, err := u.cell(name, r+1, c+1, text, &formulas)
			if err != nil {
				return err
			}
			if !x.empty() {
				row = append(row, x)
			}
		}
		if len(row) > 0 {
			g.rows = append(g.rows, row)
		}
	}
	if formulas > 0 {
		u.notes = append(u.notes, fmt.Sprintf("%s: sheet %s: %d formula cells were read as the values they had when the workbook was saved", u.file, name, formulas))
	}
	if len(g.rows) == 0 {
		return nil
	}
	u.grids = append(u.grids, g)
	return u.merged(g, merges)
}

// texts is the raw contents of a sheet's cells, read as a stream so that rows far down cost nothing before they are refused.
func (u *unpacked) texts(name string) ([][]string, error) {
	rows, err := u.f.Rows(name)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var list [][]string
	for rows.Next() {
		line, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return nil, err
		}
		if len(line) > mostColumns {
			return nil, &limitError{fmt.Sprintf("sheet %s has something in column %s; the last one that is read is %s", name, letters(len(line)), letters(mostColumns))}
		}
		if list = append(list, line); len(list) > mostRows {
			return nil, &limitError{fmt.Sprintf("sheet %s has more than %d rows", name, mostRows)}
		}
	}
	return list, rows.Error()
}

// cell reads one cell.
func (u *unpacked) cell(sheet string, row, col int, text string, formulas *int) (cell, error) {
	x := cell{text: text, row: row, col: col}
	name, err := excelize.CoordinatesToCellName(col, row)
	if err != nil {
		return x, err
	}
	formula, err := u.f.GetCellFormula(sheet, name)
	if err != nil {
		return x, err
	}
	kind, err := u.f.GetCellType(sheet, name)
	if err != nil {
		return x, err
	}
	switch {
	case kind == excelize.CellTypeError:
		x.fault, x.remedy = "holds an error value", "correct the formula or write the value"
	case formula != "" && text == "":
		x.text = "=" + formula
		x.fault, x.remedy = "holds a formula that was saved without its value", "open and save the workbook in a spreadsheet, or write the value"
	case kind == excelize.CellTypeBool:
		x.text = map[string]string{"1": "yes", "0": "no"}[text]
		if x.text == "" {
			x.text = text
		}
	case kind == excelize.CellTypeNumber, kind == excelize.CellTypeUnset, kind == excelize.CellTypeDate:
		err = u.number(sheet, name, &x)
	}
	if formula != "" && x.fault == "" {
		*formulas++
	}
	return x, err
}

// number tells numbers, dates and times apart by the cell's number format.
func (u *unpacked) number(sheet, name string, x *cell) error {
	v, err := strconv.ParseFloat(x.text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return nil // a text, or an ISO 8601 date that is read as one
	}
	x.number = true
	style, err := u.f.GetCellStyle(sheet, name)
	if err != nil {
		return err
	}
	look, known := u.looks[style]
	if !known {
		look = u.lookOf(style)
		u.looks[style] = look
	}
	x.percent = look == asPercent
	if look == asDate {
		x.date, x.serial = true, v
		if v >= 1 { // below it is a time of day
			x.serial += u.shift
		}
		x.text = serialText(x.serial)
	}
	return nil
}

// serialText shows a date cell in messages.
func serialText(serial float64) string {
	day, part := math.Floor(serial), serial-math.Floor(serial)
	clock := clockAt(part)
	switch {
	case serial < 1:
		return clock
	case part == 0:
		return serialDay(day).String()
	}
	return serialDay(day).String() + " " + clock
}

func clockAt(part float64) string {
	minutes := int(math.Round(part * 24 * 60))
	return fmt.Sprintf("%02d:%02d", minutes/60, minutes%60)
}

// look is what a style makes of a number.
type look int

const (
	asNumber look = iota
	asPercent
	asDate // or a time
)

func (u *unpacked) lookOf(style int) look {
	s, err := u.f.GetStyle(style)
	if err != nil || s == nil {
		return asNumber
	}
	if f := s.CustomNumFmt; f != nil {
		switch {
		case dateFormat(*f):
			return asDate
		case strings.HasSuffix(strings.TrimSpace(*f), "%"):
			return asPercent
		}
		return asNumber
	}
	// ECMA-376 part 1, 18.8.30: 9 and 10 are percentages, 14 to 22 and 45 to 47 dates and times; 27 to 36 and 50 to 58 in East Asian locales
	switch n := s.NumFmt; {
	case n == 9 || n == 10:
		return asPercent
	case n >= 14 && n <= 22, n >= 27 && n <= 36, n >= 45 && n <= 47, n >= 50 && n <= 58:
		return asDate
	}
	return asNumber
}

// dateFormat reports whether a number format has a part of a date or of a time outside of quoted text, colours and escapes.
func dateFormat(f string) bool {
	f, _, _ = strings.Cut(f, ";")
	for i := 0; i < len(f); i++ {
		switch f[i] {
		case '"':
			end := strings.IndexByte(f[i+1:], '"')
			if end < 0 {
				return false
			}
			i += end + 1
		case '\\', '_', '*':
			i++
		case '[':
			end := strings.IndexByte(f[i:], ']')
			if end < 0 {
				return false
			}
			if strings.Trim(strings.ToLower(f[i+1:i+end]), "hms") == "" {
				return true
			}
			i += end
		case 'y', 'Y', 'd', 'D', 'h', 'H', 's', 'S', 'm', 'M':
			return true
		}
	}
	return false
}

// merged refuses merged cells: it can't be told which of the rows or columns they belong to.
func (u *unpacked) merged(g *grid, list []excelize.MergeCell) error {
	for _, m := range list {
		col, row, err := excelize.CellNameToCoordinates(m.GetStartAxis())
		if err != nil {
			return err
		}
		line := g.row(row)
		if len(line) > 0 && comment(line) {
			continue
		}
		u.bad = append(u.bad, BadCell{File: u.file, Sheet: g.sheet, Row: row, Column: col, Value: cellAt(line, col).text,
			Reason: fmt.Sprintf("is merged over %s:%s", m.GetStartAxis(), m.GetEndAxis()), Remedy: "unmerge the cells and fill in each"})
	}
	return nil
}
