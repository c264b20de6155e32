package sheets

import (
	"cmp"
	"fmt"
	"reflect"
	"slices"
	"strings"
)

// row is a record as a sheet gives it.
type row struct {
	record reflect.Value // of the table's record type, settable
	given  []given       // by column
	line   cell          // its first cell, for the place
	key    string
	bad    []bool // by column: its cell can't be read; nil if all can
}

// given is where a column's cell stands; col is 0 if the sheet does not have the column.
type given struct {
	row, col int
	heading  string
	text     string // of a row's cell
}

// decoded is a sheet read into records.
type decoded struct {
	table *table
	grid  *grid
	has   []given // columns that the sheet has, by column
	rows  []row
	heads int  // row of the headings
	sound bool // no cell of it is wrong

	faulty []row // rows that can't be taken over, with a key that can be read
	lost   bool  // there are rows without such a key, or none could be read

	at map[string]int // places in keyed by key, first rows first; nil until asked for
}

// decode reads a sheet of table t. What is wrong goes to bad; rows with a bad cell are left out.
func decode(t *table, g *grid, p place, bad *badList) *decoded {
	d := &decoded{table: t, grid: g, has: make([]given, len(t.columns))}
	before := bad.count()
	d.read(p, bad)
	d.sound = bad.count() == before
	return d
}

func (d *decoded) read(p place, bad *badList) {
	t, g := d.table, d.grid
	if t.sideways {
		g = g.upright()
	}
	h := firstRow(g.rows)
	if h < 0 {
		bad.add(BadCell{File: g.file, Sheet: g.sheet, Reason: "has no headings", Remedy: "start from the sheets of feedline template"})
		d.lost = true
		return
	}
	d.heads = g.rows[h][0].row
	units, ok := d.headings(g, g.rows[h], p, bad)
	if !ok {
		d.lost = true
		return
	}
	for _, cells := range g.rows[h+1:] {
		if !t.sideways && comment(cells) {
			continue
		}
		switch r, ok := d.row(cells, units, p, bad); {
		case ok:
			d.rows = append(d.rows, r)
		case r.bad == nil || slices.Contains(r.bad[:t.keys], true): // shifted, or without a key
			d.lost = true
		default:
			d.faulty = append(d.faulty, r)
		}
	}
	if t.sideways && len(g.rows) == h+1 {
		bad.add(BadCell{File: g.file, Sheet: g.sheet, Row: d.heads, Reason: "has settings without a value", Remedy: "write each value into the column beside its setting"})
	}
	d.duplicates(bad)
}

// keyed is the rows whose keys can be read: those to be taken over, then others.
func (d *decoded) keyed() []row { return slices.Concat(d.rows, d.faulty) }

// headings finds out which columns a sheet has and in which units.
func (d *decoded) headings(g *grid, row []cell, p place, bad *badList) ([]unit, bool) {
	t, ok := d.table, true
	units := make([]unit, len(t.columns))
	fail := func(x cell, f *fault) {
		b := d.grid.bad(x, f.reason)
		b.Allowed, b.Remedy = f.allowed, f.remedy
		bad.add(b)
		ok = false
	}
	for n, x := range row {
		if x.empty() || strings.HasPrefix(strings.TrimSpace(x.text), "#") {
			continue
		}
		name, symbol, bracketed := splitHeading(x.text)
		i, known := t.column(name)
		if !known {
			what := "column"
			if t.sideways {
				what = "setting"
			}
			fail(x, &fault{reason: fmt.Sprintf("is no %s of %s", what, t.name), remedy: nearHeading(name, t.headings())})
			continue
		}
		if d.has[i].heading != "" {
			fail(x, &fault{reason: fmt.Sprintf("is there twice: in %s already", headPlace(t, d.has[i])), remedy: "take one of the columns out"})
			continue
		}
		u, f := t.readUnit(&t.columns[i], symbol, bracketed, p)
		if f != nil {
			fail(x, f)
			continue
		}
		units[i] = u
		d.has[i] = given{row: x.row, col: x.col, heading: x.text}
		if t.sideways {
			d.has[i].col = n + 1
		}
	}
	return units, d.missing(bad) && ok
}

// headPlace names the place of a heading: a column, or a row of a sheet that stands sideways.
func headPlace(t *table, g given) string {
	if t.sideways {
		return fmt.Sprintf("row %d", g.row)
	}
	return "column " + letters(g.col)
}

// missing adds the columns of the key that a sheet lacks.
func (d *decoded) missing(bad *badList) bool {
	var list []string
	for i := range d.table.keys {
		if d.has[i].heading == "" {
			list = append(list, d.table.heading(&d.table.columns[i]))
		}
	}
	if len(list) == 0 {
		return true
	}
	bad.add(BadCell{File: d.grid.file, Sheet: d.grid.sheet, Row: d.heads, Reason: "has no column " + strings.Join(list, ", "),
		Remedy: "rows are told apart by it"})
	return false
}

// row reads the cells of a row; false if any is wrong.
func (d *decoded) row(cells []cell, units []unit, p place, bad *badList) (row, bool) {
	t := d.table
	r := row{record: reflect.New(t.record()).Elem(), given: make([]given, len(t.columns)), line: cells[0]}
	whole := d.orphans(cells, bad)
	ok := whole
	for i := range t.columns {
		c, head := &t.columns[i], d.has[i]
		if head.heading == "" {
			continue
		}
		x := cellAt(cells, head.col)
		if t.sideways {
			x = cells[head.col-1]
		}
		r.given[i] = given{x.row, x.col, head.heading, x.text}
		if f := c.set(r.record, x, units[i], p); f != nil {
			b := d.grid.bad(x, f.reason)
			b.Heading, b.Allowed, b.Remedy = head.heading, f.allowed, f.remedy
			bad.add(b)
			if ok = false; r.bad == nil {
				r.bad = make([]bool, len(t.columns))
			}
			r.bad[i] = true
		}
	}
	if !whole {
		r.bad = nil // any cell may be another's
	}
	r.key = t.key(r.record)
	return r, ok
}

// orphans refuses cells that stand under no heading: a separator too many has shifted the row.
func (d *decoded) orphans(cells []cell, bad *badList) bool {
	if d.table.sideways {
		return true
	}
	under := map[int]bool{}
	for _, h := range d.has {
		under[h.col] = true
	}
	for _, x := range cells {
		if !x.empty() && !under[x.col] && !d.noted(x.col) {
			b := d.grid.bad(x, "stands under no heading")
			b.Remedy = "has a cell been shifted? give the column a heading that begins with # if it is a remark"
			bad.add(b)
			return false
		}
	}
	return true
}

// noted reports whether a column's heading begins with #: a remark of the user's own.
func (d *decoded) noted(col int) bool {
	h := firstRow(d.grid.rows)
	return strings.HasPrefix(strings.TrimSpace(cellAt(d.grid.rows[h], col).text), "#")
}

// duplicates refuses rows with the key of an earlier one.
func (d *decoded) duplicates(bad *badList) {
	if d.table.sideways {
		return
	}
	first := map[string]int{}
	all := slices.SortedFunc(slices.Values(d.keyed()), func(a, b row) int { return cmp.Compare(a.line.row, b.line.row) })
	for _, r := range all {
		if n, ok := first[r.key]; ok {
			b := d.grid.bad(cell{row: r.line.row, text: r.key}, fmt.Sprintf("is the key of row %d too", n))
			b.Remedy = "take one of the two rows out or give it a key of its own"
			bad.add(b)
			continue
		}
		first[r.key] = r.line.row
	}
}
