package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"feedline/cmd/internal/console"
	"feedline/planner"
)

var aDraft = console.KeptDraft{At: time.Date(2027, 1, 5, 6, 30, 0, 0, time.UTC), Version: 7, Steps: []console.KeptStep{
	{Words: "crew 8", Kind: "what-if", Edits: []planner.Edit{planner.SetCell("plant", "", "crew", "8")}},
	{Words: "cancel O-1", Edits: []planner.Edit{planner.DropRow("orders", "O-1")}}}}

// TestDraftsBesideTheBook: a draft is read back by the same user's next console, and by nobody else's; one whose console lives is not
// offered; one that can't be read is told of and stays.
func TestDraftsBesideTheBook(t *testing.T) {
	book := filepath.Join(t.TempDir(), "the plant.book")
	now := time.Now()
	first := newConsoleDrafts(book, "anna", now)
	if err := first.Keep(aDraft); err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(first.at(first.own))
	if err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("mode %v, %v; want it for its user alone", info.Mode(), err)
	}
	alive := strings.Replace(first.own, "-"+pidOf(first.own)+"-", "-1-", 1) // process 1 is there always
	text, _ := os.ReadFile(first.at(first.own))
	for name, s := range map[string]string{alive: string(text), "the plant.book.draft-x.json": "{", "another.book.draft-x.json": string(text)} {
		if err := os.WriteFile(first.at(name), []byte(s), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got, err := newConsoleDrafts(book, "anna", now.Add(time.Second)).Left()
	if err == nil || !strings.Contains(err.Error(), "the plant.book.draft-x.json can't be read") {
		t.Errorf("the one that can't be read: %v", err)
	}
	want := aDraft
	want.Name = first.own
	if d := cmp.Diff([]console.KeptDraft{want}, got, cmpopts.EquateEmpty()); d != "" {
		t.Errorf("kept (-), read (+):\n%s", d)
	}
	if others, _ := newConsoleDrafts(book, "bert", now).Left(); len(others) > 0 {
		t.Errorf("another user is offered %v", others)
	}
	if err := first.Keep(console.KeptDraft{}); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(first.at(first.own)); err == nil {
		t.Error("a draft without steps is still there")
	}
}

// pidOf is the PID in a draft's name.
func pidOf(name string) string {
	parts := strings.Split(strings.TrimSuffix(name, ".json"), "-")
	return parts[len(parts)-2]
}

// FuzzDraft: no text in the place of a kept draft makes its reader panic, and what it takes is written so that it reads the same.
func FuzzDraft(f *testing.F) {
	text, err := encodeDraft(aDraft, "anna")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte(`{"schema":"feedline.draft/1","steps":[{"edits":{"schema":"feedline.edits/1","edits":[{"op":"set","table":"plant","cells":{"a":""}}]}}]}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		d, who, err := decodeDraft(text)
		if err != nil {
			return
		}
		again, err := encodeDraft(d, who)
		if err != nil {
			t.Skip("a time beyond what JSON holds")
		}
		got, by, err := decodeDraft(again)
		if diff := cmp.Diff(d, got, cmpopts.EquateEmpty()); err != nil || by != who || diff != "" {
			t.Fatalf("read (-), written and read again (+), %v:\n%s", err, diff)
		}
	})
}
