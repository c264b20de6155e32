package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"feedline/cmd/internal/beside"
	"feedline/cmd/internal/console"
	"feedline/planner"
)

// consoleDrafts keeps the drafts of consoles in files beside the book, for their user alone to read:
//
//	BOOK.draft-SYSTEM-PID-START.json
//
// A draft whose process has ended, or can't be known, is offered to its user's next console.
type consoleDrafts struct {
	book, who, own string
}

func newConsoleDrafts(book, who string, now time.Time) *consoleDrafts {
	return &consoleDrafts{book, who, draftPrefix(book) + beside.Self() + "-" + strconv.FormatInt(now.UnixNano(), 36) + ".json"}
}

func draftPrefix(book string) string { return filepath.Base(book) + ".draft-" }

// draftSchema names the form of a kept draft.
const draftSchema = "feedline.draft/1"

type draftDocument struct {
	Schema  string      `json:"schema"`
	Who     string      `json:"who"`
	At      time.Time   `json:"at"`
	Version int64       `json:"version"`
	Steps   []draftStep `json:"steps"`
}

type draftStep struct {
	Words string          `json:"words"`
	Kind  string          `json:"kind"`
	Edits json.RawMessage `json:"edits"` // of the schema feedline.edits/1
}

func (k *consoleDrafts) at(name string) string { return filepath.Join(filepath.Dir(k.book), name) }

// Keep writes the file whole, or removes it if the draft has no steps.
func (k *consoleDrafts) Keep(d console.KeptDraft) error {
	if len(d.Steps) == 0 {
		return k.Forget(k.own)
	}
	text, err := encodeDraft(d, k.who)
	if err != nil {
		return err
	}
	return beside.Write(k.at(k.own), text, true)
}

func encodeDraft(d console.KeptDraft, who string) ([]byte, error) {
	doc := draftDocument{Schema: draftSchema, Who: who, At: d.At, Version: d.Version, Steps: []draftStep{}}
	for _, x := range d.Steps {
		edits, err := planner.EncodeEdits(x.Edits)
		if err != nil {
			return nil, err
		}
		doc.Steps = append(doc.Steps, draftStep{x.Words, x.Kind, edits})
	}
	return json.MarshalIndent(doc, "", "  ")
}

// decodeDraft reads what encodeDraft wrote.
func decodeDraft(text []byte) (d console.KeptDraft, who string, err error) {
	var doc draftDocument
	if err := json.Unmarshal(text, &doc); err != nil {
		return d, "", err
	}
	if doc.Schema != draftSchema {
		return d, "", fmt.Errorf("its schema is %q, not %s", doc.Schema, draftSchema)
	}
	d.At, d.Version = doc.At, doc.Version
	for i, x := range doc.Steps {
		edits, err := planner.DecodeEdits(x.Edits)
		if err != nil {
			return d, "", fmt.Errorf("step %d: %w", i+1, err)
		}
		d.Steps = append(d.Steps, console.KeptStep{Words: x.Words, Kind: x.Kind, Edits: edits})
	}
	return d, doc.Who, nil
}

// mostDraft is the largest file that is read as a draft, bytes: far more than anybody edits.
const mostDraft = 16 << 20

// Left reads the files of consoles that have ended. One that can't be read is told of, and left.
func (k *consoleDrafts) Left() (all []console.KeptDraft, err error) {
	list, err := os.ReadDir(filepath.Dir(k.book))
	if err != nil {
		return nil, err
	}
	for _, e := range list {
		name := e.Name()
		if !strings.HasPrefix(name, draftPrefix(k.book)) || !strings.HasSuffix(name, ".json") || beside.Living(name) {
			continue
		}
		info, fault := e.Info()
		if fault != nil || !info.Mode().IsRegular() || info.Size() > mostDraft {
			continue
		}
		text, fault := os.ReadFile(k.at(name))
		if errors.Is(fault, fs.ErrPermission) {
			continue // another user's
		}
		d, who := console.KeptDraft{}, ""
		if fault == nil {
			d, who, fault = decodeDraft(text)
		}
		if fault != nil {
			err = errors.Join(err, fmt.Errorf("the draft in %s can't be read: %w", name, fault))
			continue
		}
		if d.Name = name; who == k.who && len(d.Steps) > 0 {
			all = append(all, d)
		}
	}
	slices.SortStableFunc(all, func(a, b console.KeptDraft) int { return b.At.Compare(a.At) })
	return all, err
}

// Forget removes a file.
func (k *consoleDrafts) Forget(name string) error {
	if err := os.Remove(k.at(name)); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// guardCommand is a hidden command.
const guardCommand = "guard-terminal"

// guardTerminal is the process beside the console that puts the terminal right if the console can't.
func (a *app) guardTerminal() *cobra.Command {
	return &cobra.Command{Use: guardCommand, Hidden: true, Args: cobra.NoArgs, RunE: func(*cobra.Command, []string) error {
		tty, ok := a.Err.(*os.File)
		if !ok {
			return errNoTerminal
		}
		return console.GuardTerminal(a.In, a.Out, tty)
	}}
}

// guard is the command that starts it; nil if the program can't find itself.
func guard() *exec.Cmd {
	self, err := os.Executable()
	if err != nil {
		return nil
	}
	c := exec.Command(self, guardCommand)
	c.Args[0] = os.Args[0]
	return c
}
