package sheets

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf16"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// readCSV reads a sheet of a CSV file: separated by commas, semicolons or tabs, whichever there are most of in the row of headings;
// in UTF-8, UTF-16 with a byte order mark or else Windows-1252; with any line ends.
func readCSV(file string, data []byte) (*grid, []string, *BadCell) {
	fail := func(row int, f fault) (*grid, []string, *BadCell) {
		return nil, nil, &BadCell{File: file, Row: row, Reason: f.reason, Remedy: f.remedy}
	}
	s, note := decodeText(data)
	if strings.ContainsRune(s, 0) {
		return fail(0, fault{reason: "is not a text file", remedy: "save the sheet as CSV, or import the workbook as it is"})
	}
	s = lineEnds(s)
	sep, s, skipped := separator(s)
	g := &grid{file: file}
	r := csv.NewReader(strings.NewReader(s))
	r.Comma, r.FieldsPerRecord = sep, -1
	folded := -skipped // line breaks within cells so far: they make no row
	for {
		record, err := r.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			row, f := csvFault(err)
			return fail(row-folded, f)
		}
		line, _ := r.FieldPos(0)
		cells, f := csvCells(record, line-folded, sep == ';')
		if f != nil {
			return fail(line-folded, *f)
		}
		for _, x := range record {
			folded += strings.Count(x, "\n")
		}
		g.rows = append(g.rows, cells)
		if len(g.rows) > mostRows {
			return fail(line-folded, fault{reason: fmt.Sprintf("has more than %d rows", mostRows), remedy: "split the sheet"})
		}
	}
	var notes []string
	if note != "" {
		notes = append(notes, file+" "+note)
	}
	return g, notes, nil
}

func csvCells(record []string, row int, semi bool) ([]cell, *fault) {
	for len(record) > 1 && strings.TrimSpace(record[len(record)-1]) == "" {
		record = record[:len(record)-1]
	}
	if len(record) > mostColumns {
		return nil, &fault{reason: fmt.Sprintf("has more than %d columns", mostColumns)}
	}
	cells := make([]cell, len(record))
	for i, x := range record {
		cells[i] = cell{text: x, row: row, col: i + 1, semi: semi}
	}
	return cells, nil
}

func csvFault(err error) (row int, f fault) {
	var p *csv.ParseError
	if !errors.As(err, &p) {
		return 0, fault{reason: err.Error()}
	}
	if errors.Is(p.Err, csv.ErrQuote) || errors.Is(p.Err, csv.ErrBareQuote) {
		return p.StartLine, fault{reason: "has a quotation mark that is not closed or stands within a cell",
			remedy: `put a cell that holds quotation marks between quotation marks and write each of them twice, as in "3"" trim"`}
	}
	return p.StartLine, fault{reason: p.Err.Error()}
}

var (
	markUTF8 = []byte{0xEF, 0xBB, 0xBF}
	markLE   = []byte{0xFF, 0xFE}
	markBE   = []byte{0xFE, 0xFF}
)

// decodeText turns a file's bytes into text and says how, if it is not UTF-8.
func decodeText(b []byte) (s, note string) {
	switch {
	case bytes.HasPrefix(b, markUTF8):
		b = b[len(markUTF8):]
	case bytes.HasPrefix(b, markLE):
		return decode16(b[2:], 1, 0), ""
	case bytes.HasPrefix(b, markBE):
		return decode16(b[2:], 0, 1), ""
	}
	if utf8.Valid(b) {
		return string(b), ""
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return string(bytes.ToValidUTF8(b, []byte("\uFFFD"))), ""
	}
	return string(out), "is not UTF-8; it was read as Windows-1252 (Latin-1)"
}

func decode16(b []byte, high, low int) string {
	u := make([]uint16, len(b)/2)
	for i := range u {
		u[i] = uint16(b[2*i+high])<<8 | uint16(b[2*i+low])
	}
	return string(utf16.Decode(u))
}

// lineEnds makes a file of old that ends its lines with a lone CR readable.
func lineEnds(s string) string {
	if strings.Contains(s, "\n") || !strings.Contains(s, "\r") {
		return s
	}
	return strings.ReplaceAll(s, "\r", "\n")
}

// separator finds the separator and takes off a first line that names it, "sep=;". skipped is the lines taken off.
func separator(s string) (sep rune, rest string, skipped int) {
	first, after, _ := strings.Cut(s, "\n")
	if name, ok := strings.CutPrefix(strings.TrimRight(first, "\r"), "sep="); ok && len(name) == 1 && strings.Contains(",;\t", name) {
		return rune(name[0]), after, 1
	}
	best, sep := 0, ','
	count := map[rune]int{}
	quoted := false
	for line := range strings.Lines(s) {
		if t := strings.TrimSpace(strings.TrimLeft(line, "\";, \t")); t == "" || t[0] == '#' {
			continue
		}
		for _, r := range line {
			if r == '"' {
				quoted = !quoted
			} else if !quoted {
				count[r]++
			}
		}
		break
	}
	for _, r := range ",;\t" {
		if count[r] > best {
			best, sep = count[r], r
		}
	}
	return sep, s, 0
}
