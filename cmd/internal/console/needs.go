package console

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"feedline/cmd/internal/console/rows"
	"feedline/inventory/quantity"
	"feedline/lines/calendar"
	"feedline/planner"
	"feedline/planner/forecast"
	"feedline/planner/records"
	"feedline/planner/solve"
)

// Needs is what the console needs done.
type Needs struct {
	Book     Book
	Planner  Planner
	Recorder Recorder // nil where records can't be entered
	Drafts   Drafts   // nil where a draft does not outlive the console
	Now      func() time.Time
	// Export writes a file of the given name in the user's folder, whole or not at all, and says where it is. It overwrites nothing.
	Export func(name string, write func(io.Writer) error) (path string, err error)
}

// Stored is what the book holds.
type Stored struct {
	In      *planner.Input
	Version int64         // of the records
	Plan    *planner.Plan // saved last; nil if there is none
	PlanID  int64
	Of      int64            // version of the records that the plan was made of
	Likely  *forecast.Result // what the plan is likely to come to; nil if no forecast was made of it
	Release                  // of the plan released last; zero if there is none
}

// Release is when, by whom and which plan was made the promise.
type Release struct {
	ID int64 // the plan's number; 0 = none is released
	At time.Time
	By string
}

// Book is the plant book.
type Book interface {
	// Load reads the records and the plan saved last.
	Load(ctx context.Context) (Stored, error)
	// PlanOf reads a plan by its number.
	PlanOf(ctx context.Context, id int64) (*planner.Plan, error)
	// Now is the records' version and the number of the released plan by now.
	Now(ctx context.Context) (version, released int64, err error)
	// Changed says in words what was changed after a version, and by whom.
	Changed(ctx context.Context, after int64) ([]string, error)
	// Accept saves the records, if they differ, and the plan, and releases it. It returns a *Stale, and saves nothing, if the
	// book's version or the released plan is not the one that the draft began with.
	Accept(ctx context.Context, d Accepted) (Stored, error)
	// Keep does the same without releasing the plan.
	Keep(ctx context.Context, d Accepted) (Stored, error)
}

// Accepted is a draft to be saved.
type Accepted struct {
	In      *planner.Input
	Plan    *planner.Plan
	Version int64 // that the draft began with
	Release int64 // number of the plan that was released then
	Note    string
}

// Stale says that the book was changed, or another plan released, by somebody else since it was loaded.
type Stale struct {
	Changes []string
}

func (e *Stale) Error() string {
	s := "nothing was saved: the book has changed since"
	if len(e.Changes) > 0 {
		s += ": " + strings.Join(e.Changes[:min(3, len(e.Changes))], "; ")
	}
	if n := len(e.Changes) - 3; n > 0 {
		s += fmt.Sprintf(" and %d more", n)
	}
	return s
}

// Planner plans and answers.
type Planner interface {
	// Words reads a what-if in words, such as "down L4 2027-01-11..2027-01-15".
	Words(in *planner.Input, today calendar.Day, words string) ([]planner.Edit, error)
	// Apply returns a copy of in with the edits made.
	Apply(in *planner.Input, edits []planner.Edit) (*planner.Input, error)
	// Plan plans from a day on, 0 for today, beginning with a plan that is near if one is given. Cancelled, it returns the best plan
	// it has.
	Plan(ctx context.Context, in *planner.Input, start calendar.Day, from *planner.Plan, progress func(solve.Progress)) (*planner.Plan, error)
	// Promise says in words when an enquiry can be met, and what bounds it.
	Promise(ctx context.Context, in *planner.Input, plan *planner.Plan, profile string, length quantity.Length) (string, error)
}

// Entry is a record as it is typed: fields by the names that they have in its sheet, values as in a cell. An amount may have a unit
// behind it, else it is in the plant's; a blank day is today.
type Entry struct {
	Kind   records.Kind
	Fields map[string]string
}

// Recorder enters what happened. Records are facts: they are saved at once, and taken back by Undo.
type Recorder interface {
	// Record enters and says in a few words what it did; the error names field, value and remedy, and is a *FieldError where one
	// field is to be corrected.
	Record(ctx context.Context, e Entry) (id int64, said string, err error)
	// Undo takes an entry back.
	Undo(ctx context.Context, id int64) error
	// Recorded lists the runs recorded of a day.
	Recorded(ctx context.Context, d calendar.Day) ([]rows.Actual, error)
	// Promised is the plan that was the promise of a day; nil if there was none.
	Promised(ctx context.Context, d calendar.Day) (*planner.Plan, error)
	// Entries lists what stands of the kinds, none for all, from a day on, in the order it was entered; 0 for all days.
	Entries(ctx context.Context, from calendar.Day, kinds ...records.Kind) ([]records.Entry, error)
}
