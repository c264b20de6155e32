package console

import (
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"feedline/cmd/internal/console/rows"
)

// grid shows a table of rows, filtered and sorted as its user likes; tview moves the selection and scrolls.
type grid struct {
	*tview.Table
	look   Look
	name   string
	full   *rows.Table // as the page has it
	shown  *rows.Table // filtered and sorted
	widths []int
	cols   []int // columns that fit
	width  int   // that cols and widths were made for
	active bool  // has the keyboard
	filter string
	sortBy string // column's key; "" as the page has it
	down   bool   // sorted descending
	key    string // of the selected row
	column string // key of the selected column of a table that moves sideways
	offset int    // first of its columns that is seen
}

func newGrid(name string, look Look) *grid {
	g := &grid{Table: tview.NewTable(), look: look, name: name}
	g.Table.SetContent(cells{g: g}).SetSelectable(true, false).SetFixed(1, 0).SetSelectedStyle(look.marked()).SetSeparator(' ')
	g.Table.SetSelectionChangedFunc(func(r, _ int) { g.moved(r) })
	g.Table.SetBackgroundColor(tcell.ColorDefault)
	return g
}

// set gives the grid its table anew; what was selected stays selected as long as it is there.
func (g *grid) set(t *rows.Table) {
	if t == g.full && g.shown != nil {
		return
	}
	first := g.full == nil
	g.full = t
	if first {
		g.column = t.Begin
	} else if t.Fixed > 0 {
		g.column = columnNear(t, g.column)
	}
	g.arrange()
	if first && t.Fixed > 0 {
		g.Table.SetSelectable(true, true)
	}
}

// columnNear is the key of the column that a table which moves sideways has for a day: its own, else the last one before it, such as
// the week that the day is in; else where the table begins.
func columnNear(t *rows.Table, key string) string {
	near := t.Begin
	for i, c := range t.Columns[min(t.Fixed, len(t.Columns)):] {
		if c.Key <= key || i == 0 && key != "" { // days in their order, which is that of their keys
			near = c.Key
		}
	}
	return near
}

// arrange filters and sorts, and finds the selected row again.
func (g *grid) arrange() {
	t := g.full.Filter(g.filter)
	for i, c := range t.Columns {
		if c.Key == g.sortBy && g.sortBy != "" {
			t = t.Sort(i, g.down)
		}
	}
	g.shown, g.width = t, -1
	at := t.Index(g.key)
	if at < 0 {
		at = max(0, min(g.selected(), len(t.Rows)-1))
	}
	g.fit(g.lastWidth())
	g.pick(at)
}

// pick selects a row, and the cell of the selected column.
func (g *grid) pick(row int) {
	row = max(0, min(row, len(g.shown.Rows)-1))
	g.Table.Select(row+1, g.local())
}

// local is where the selected column stands among those that fit; 0 for a table that does not move sideways.
func (g *grid) local() int {
	if g.shown.Fixed == 0 {
		return 0
	}
	return max(0, slices.Index(g.cols, g.columnAt()))
}

// columnAt is the selected column of a table that moves sideways.
func (g *grid) columnAt() int {
	for i := g.shown.Fixed; i < len(g.shown.Columns); i++ {
		if g.shown.Columns[i].Key == g.column {
			return i
		}
	}
	return min(g.shown.Fixed, len(g.shown.Columns)-1)
}

// sideways selects the column by so many to the right.
func (g *grid) sideways(by int) {
	i := min(max(g.shown.Fixed, g.columnAt()+by), len(g.shown.Columns)-1)
	g.column = g.shown.Columns[i].Key
	g.width = -1
	g.fit(g.lastWidth())
	g.pick(g.selected())
}

func (g *grid) lastWidth() int {
	_, _, w, _ := g.GetInnerRect()
	return w
}

// selected is the index of the selected row.
func (g *grid) selected() int {
	r, _ := g.GetSelection()
	return r - 1
}

// row is the selected row; false if the table is empty.
func (g *grid) row() (rows.Row, bool) {
	i := g.selected()
	if g.shown == nil || i < 0 || i >= len(g.shown.Rows) {
		return rows.Row{}, false
	}
	return g.shown.Rows[i], true
}

func (g *grid) moved(r int) {
	if g.shown == nil {
		return
	}
	if i := r - 1; i >= 0 && i < len(g.shown.Rows) {
		g.key = g.shown.Rows[i].Key
	}
}

// fit chooses the columns for a width.
func (g *grid) fit(width int) {
	if g.width == width || g.shown == nil {
		return
	}
	g.width = width
	var keep []bool
	g.widths, keep = g.shown.Fit(width - 1) // a column for the sign of the selected row
	g.cols = g.cols[:0]
	if g.shown.Fixed > 0 {
		g.window(width - 1)
		return
	}
	for i, k := range keep {
		if k {
			g.cols = append(g.cols, i)
		}
	}
}

// window chooses the columns that are seen of a table that moves sideways: the fixed ones, and whole ones with the selected one.
func (g *grid) window(width int) {
	left := width
	for i := range g.shown.Fixed {
		g.cols = append(g.cols, i)
		left -= g.widths[i] + 1
	}
	fits := func(from int) (n int) {
		for sum := 0; from+n < len(g.widths); n++ {
			if sum += g.widths[from+n] + 1; sum-1 > left {
				break
			}
		}
		return max(n, 1)
	}
	at := g.columnAt()
	g.offset = max(g.shown.Fixed, min(g.offset, at))
	for g.offset < at && g.offset+fits(g.offset) <= at {
		g.offset++
	}
	for g.offset > g.shown.Fixed && g.offset-1+fits(g.offset-1) >= len(g.widths) { // no room is left over at the end
		g.offset--
	}
	for i := g.offset; i < min(g.offset+fits(g.offset), len(g.widths)); i++ {
		g.cols = append(g.cols, i)
	}
}

// cells is a grid's content as tview asks for it: the heading is row 0.
type cells struct {
	tview.TableContentReadOnly
	g *grid
}

// GetRowCount counts the heading, too; no rows take one to say so.
func (c cells) GetRowCount() int {
	g := c.g
	if g.shown == nil {
		return 0
	}
	return 1 + len(g.shown.Rows)
}

// GetColumnCount is the columns that fit.
func (c cells) GetColumnCount() int { return len(c.g.cols) }

// GetCell is a cell with its text padded to its column's width.
func (x cells) GetCell(r, c int) *tview.TableCell {
	g := x.g
	if g.shown == nil || c < 0 || c >= len(g.cols) || r < 0 {
		return nil
	}
	i := g.cols[c]
	col := g.shown.Columns[i]
	lead, trail := "", " "
	if g.shown.Fixed > 0 {
		trail = ""
	}
	if c == 0 {
		lead = " "
	}
	if c == len(g.cols)-1 {
		trail = ""
	}
	if len(g.shown.Rows) == 0 {
		if c > 0 {
			return nil
		}
		return tview.NewTableCell(tview.Escape(rows.Cut(" "+g.shown.None, max(g.width, 1)))).SetStyle(g.look.style(rows.Quiet)).SetSelectable(false)
	}
	if r == 0 {
		text := lead + rows.Pad(rows.Clean(col.Head), g.widths[i], !col.Left) + trail
		return tview.NewTableCell(tview.Escape(text)).SetStyle(g.look.style(rows.Strong).Underline(true)).SetSelectable(false)
	}
	if r-1 >= len(g.shown.Rows) {
		return nil
	}
	cell := g.shown.Rows[r-1].Cells[i]
	if c == 0 && r-1 == g.selected() {
		lead = "▹"
		if g.active {
			lead = "▸"
		}
	}
	text := lead + rows.Pad(rows.Clean(cell.Text), g.widths[i], !col.Left) + trail
	style := g.look.style(cell.Tone)
	out := tview.NewTableCell(tview.Escape(text)).SetStyle(style).SetSelectable(g.selectable(i))
	if !g.active { // else tview would turn the colours of a toned cell of the selected row round
		out.SetSelectedStyle(style)
	}
	return out
}

// selectable reports whether the cells of column i can be selected: those that move, or all where none does. tview looks for such a cell
// without end if a table with rows has none.
func (g *grid) selectable(i int) bool {
	return i >= g.shown.Fixed || len(g.shown.Columns) <= g.shown.Fixed
}

// canMove reports whether there is another place for the selection to go to, or at least the one where it is.
func (g *grid) canMove() bool { return len(g.shown.Rows) > 0 && len(g.cols) > 0 }

// Draw draws the table; the selection is in reverse only while it has the keyboard.
func (g *grid) Draw(s tcell.Screen) {
	if g.width != g.lastWidth() {
		g.fit(g.lastWidth())
		g.pick(g.selected())
	}
	marked := tcell.StyleDefault
	if g.active {
		marked = g.look.marked()
	}
	g.Table.SetSelectedStyle(marked)
	g.Table.Draw(s)
}

// title is the pane's title with what is filtered and sorted.
func (g *grid) title() string {
	t := g.full.Title
	if g.filter != "" {
		t += " /" + g.filter
	}
	if g.sortBy != "" {
		dir := "↑"
		if g.down {
			dir = "↓"
		}
		for _, c := range g.full.Columns {
			if c.Key == g.sortBy {
				t += " by " + strings.TrimSpace(heading(c)) + " " + dir
			}
		}
	}
	return t
}

// heading is a column's heading, its key where it has none.
func heading(c rows.Column) string {
	if c.Head == "" {
		return c.Key
	}
	return c.Head
}

// sortNext sorts by the column after the one sorted by, in the end as the page has it.
func (g *grid) sortNext() string {
	next := ""
	past := g.sortBy == ""
	for _, c := range g.full.Columns {
		if c.Drawn {
			continue
		}
		if past {
			next = c.Key
			break
		}
		past = c.Key == g.sortBy
	}
	g.sortBy, g.down = next, false
	g.arrange()
	return next
}
