package planner

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// EditOp says what an Edit does.
type EditOp string

// The ops.
const (
	EditSet  EditOp = "set"  // changes cells of a row
	EditAdd  EditOp = "add"  // adds a row
	EditDrop EditOp = "drop" // takes a row out
)

// Edit is one change of an Input, for a what-if or a draft: of cells of a row, a row more, or one less. It is told in the words
// of the sheets, so that it can be stored, shown and typed: columns are headings without their unit, words joined by
// underscores, and values are as in a sheet's cell with the unit behind them, such as "22000 kg". A value without one is in
// the plant's own units. The sheets package applies edits to a copy of an Input; undoing one is to apply the others.
type Edit struct {
	Op    EditOp            `json:"op"`
	Table string            `json:"table"`
	Key   string            `json:"key,omitempty"`   // of the row to change or drop, its parts joined by a slash; none for plant
	Cells map[string]string `json:"cells,omitempty"` // value by column, of set and add
}

// SetCell changes one cell. Columns are named by their Go field or heading.
func SetCell(table, key, column, value string) Edit {
	return Edit{Op: EditSet, Table: table, Key: key, Cells: map[string]string{column: value}}
}

// AddRow adds a row with these cells, the key's among them; others are as a blank cell.
func AddRow(table string, cells map[string]string) Edit {
	return Edit{Op: EditAdd, Table: table, Cells: cells}
}

// DropRow takes a row out.
func DropRow(table, key string) Edit { return Edit{Op: EditDrop, Table: table, Key: key} }

// String is the edit as it can be typed: "lines.L4.state=down", "+orders:code=N-1,profile=SK80" or "-orders.O-1".
func (e Edit) String() string {
	var cells []string
	for _, c := range slices.Sorted(maps.Keys(e.Cells)) {
		cells = append(cells, c+"="+e.Cells[c])
	}
	row := e.Table
	if e.Key != "" {
		row += "." + strings.ReplaceAll(e.Key, " / ", "/")
	}
	switch e.Op {
	case EditAdd:
		return "+" + e.Table + ":" + strings.Join(cells, ",")
	case EditDrop:
		return "-" + row
	}
	if len(cells) == 1 {
		return row + "." + cells[0]
	}
	return row + ":" + strings.Join(cells, ",")
}

// EditError says what is wrong with an edit that was typed or stored.
type EditError struct{ Text, Reason, Remedy string }

func (e *EditError) Error() string { return fmt.Sprintf("%q %s", e.Text, e.Reason) }

// Hint is what to do.
func (e *EditError) Hint() string { return e.Remedy }

// ParseSet reads TABLE.KEY.COLUMN=VALUE; a key may hold points. The table "plant" has no key.
func ParseSet(s string) (Edit, error) {
	path, value, ok := strings.Cut(s, "=")
	if !ok {
		return Edit{}, &EditError{s, "has no =", "write it as lines.L6.state=running"}
	}
	name, rest, ok := strings.Cut(strings.TrimSpace(path), ".")
	if !ok {
		return Edit{}, &EditError{s, "names no column", "write it as TABLE.KEY.COLUMN=VALUE, such as lines.L6.state=running"}
	}
	key := ""
	if i := strings.LastIndexByte(rest, '.'); i >= 0 {
		key, rest = rest[:i], rest[i+1:]
	}
	return SetCell(name, key, rest, strings.TrimSpace(value)), nil
}

// ParseAdd reads TABLE:COLUMN=VALUE,COLUMN=VALUE. A comma that no COLUMN= follows belongs to the value before it.
func ParseAdd(s string) (Edit, error) {
	name, rest, ok := strings.Cut(s, ":")
	e, last := AddRow(strings.TrimSpace(name), map[string]string{}), ""
	if !ok {
		return Edit{}, &EditError{s, "names no cells", "write it as orders:code=N-1,profile=SK80,length=4000 m,due=2027-02-05"}
	}
	for part := range strings.SplitSeq(rest, ",") {
		column, value, ok := strings.Cut(part, "=")
		column = strings.TrimSpace(column)
		switch {
		case !ok && last == "":
			return Edit{}, &EditError{s, fmt.Sprintf("has no = in %q", part), "write cells as COLUMN=VALUE, with commas between"}
		case !ok:
			e.Cells[last] += "," + part
			continue
		}
		if _, twice := e.Cells[column]; twice {
			return Edit{}, &EditError{s, "gives " + column + " twice", "take one of them out"}
		}
		e.Cells[column], last = strings.TrimSpace(value), column
	}
	return e, nil
}

// ParseDrop reads TABLE.KEY.
func ParseDrop(s string) (Edit, error) {
	name, key, ok := strings.Cut(strings.TrimSpace(s), ".")
	if !ok || key == "" {
		return Edit{}, &EditError{s, "names no row", "write it as TABLE.KEY, such as orders.O-1001"}
	}
	return DropRow(name, key), nil
}

// EditSchema names the JSON form of a list of edits.
const EditSchema = "feedline.edits/1"

type editDocument struct {
	Schema string `json:"schema"`
	Edits  []Edit `json:"edits"`
}

// EncodeEdits is the JSON form of a list of edits, of the schema EditSchema.
func EncodeEdits(list []Edit) ([]byte, error) {
	return json.MarshalIndent(editDocument{EditSchema, slices.Concat([]Edit{}, list)}, "", "  ")
}

// DecodeEdits reads what EncodeEdits wrote. The error is an *EditError.
func DecodeEdits(b []byte) ([]Edit, error) {
	var d editDocument
	if err := json.Unmarshal(b, &d); err != nil {
		return nil, &EditError{short(string(b)), "is no list of edits: " + err.Error(), `write {"schema": "` + EditSchema + `", "edits": […]}`}
	}
	if d.Schema != EditSchema {
		return nil, &EditError{d.Schema, "is not the schema of a list of edits", "it must say " + EditSchema}
	}
	for i, e := range d.Edits {
		bad := ""
		switch {
		case e.Op != EditSet && e.Op != EditAdd && e.Op != EditDrop:
			bad = fmt.Sprintf("has the op %q, allowed: set, add, drop", e.Op)
		case e.Table == "":
			bad = "names no table"
		case e.Op == EditDrop && e.Key == "", e.Op == EditSet && e.Key == "" && e.Table != TablePlant:
			bad = "names no row"
		case e.Op != EditDrop && len(e.Cells) == 0:
			bad = "has no cells"
		}
		if bad != "" {
			return nil, &EditError{fmt.Sprintf("edit %d of %d", i+1, len(d.Edits)), bad, "correct it or take it out"}
		}
	}
	return d.Edits, nil
}

func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "…"
	}
	return s
}
