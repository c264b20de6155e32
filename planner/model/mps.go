package model

import (
	"fmt"
	"io"
)

// Format is the way an MPS file separates its fields.
type Format int

// The formats of an MPS file.
const (
	AnyFormat   Format = iota // free if the file reads as such, else fixed
	FreeFormat                // fields separated by blanks; names have none
	FixedFormat               // fields in the columns 2-3, 5-12, 15-22, 25-36, 40-47, 50-61; names may have blanks
)

// DefaultMaxBytes is the size above which ReadMPS refuses a file: 1 GiB, about 20 million nonzeros.
const DefaultMaxBytes = 1 << 30

// ReadOptions guide ReadMPSWith. The zero value detects the format and reads up to DefaultMaxBytes.
type ReadOptions struct {
	Format   Format
	MaxBytes int64 // longest input in bytes; 0 stands for DefaultMaxBytes
}

// ReadError says what is wrong with a line of an MPS file.
type ReadError struct {
	Line   int    // 1-based; 0 when the file as a whole is meant
	Place  string // the section or the field, such as "ROWS" or "column X17"
	Found  string // what the file has
	Wanted string // what would be allowed
}

// Error gives line, place, what was found and what would be allowed.
func (e *ReadError) Error() string {
	where := ""
	if e.Line > 0 {
		where = fmt.Sprintf("line %d: ", e.Line)
	}
	if e.Place != "" {
		where += e.Place + ": "
	}
	return fmt.Sprintf("%s%s, expected %s", where, e.Found, e.Wanted)
}

// ReadMPS reads a linear or mixed-integer program in MPS format, fixed or free, whichever fits the file.
//
// What the dialects disagree on is read like this:
//   - the first N row is the objective (or the one that an OBJNAME section names), other N rows are dropped;
//   - an RHS entry on the objective is the negated constant: Offset = −value (as CBC and HiGHS; glpsol 5.0 takes
//     it with its own sign);
//   - the objective is minimised unless OBJSENSE (on the same or the next line) says MAX or MAXIMIZE;
//   - of several RHS, RANGES or BOUNDS sets the first is used; the set's name may be missing;
//   - a range R on a row with right-hand side b gives [b−|R|, b] for L, [b, b+|R|] for G, and for E
//     [b, b+R] when R ≥ 0, [b+R, b] when R < 0;
//   - a column is at least 0 without upper limit; between the markers INTORG and INTEND it is whole, and then with no
//     BOUNDS entry at all it is 0 or 1 (as glpsol, CBC and HiGHS), with any entry its other side is as for any column;
//   - an UP bound below zero on a column whose lower bound was not set makes that lower bound −∞ (as CBC);
//   - magnitudes from 1e20 in bounds, right-hand sides and ranges are infinite;
//   - coefficients of exactly 0 are dropped; lines that start with * and fields from $ on are comments.
//
// Semi-continuous bounds, special ordered sets and quadratic parts are refused. Errors are *ReadError, or what r
// returns. Bounds of a column that contradict one another are an error on the line of the second.
// The file is held in memory while it is read; time is linear in its length.
func ReadMPS(r io.Reader) (*Model, error) { return ReadMPSWith(r, ReadOptions{}) }

// sizeText is a number of bytes in words.
func sizeText(bytes int64) string {
	if bytes < 1<<20 {
		return fmt.Sprintf("%d bytes", bytes)
	}
	return fmt.Sprintf("%d MB", bytes>>20)
}

// ReadMPSWith is ReadMPS with options.
func ReadMPSWith(r io.Reader, opt ReadOptions) (*Model, error) {
	limit := opt.MaxBytes
	if limit <= 0 {
		limit = DefaultMaxBytes
	}
	text, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return nil, fmt.Errorf("reading an MPS file: %w", err)
	}
	if int64(len(text)) > limit {
		return nil, &ReadError{Found: "a file of more than " + sizeText(limit), Wanted: "a model of fewer rows, columns or entries"}
	}
	switch opt.Format {
	case FreeFormat:
		return modelOrError(parseMPS(text, false))
	case FixedFormat:
		return modelOrError(parseMPS(text, true))
	}
	return parseEither(text)
}

// parseEither tries the free format, then the fixed one. A name with a blank has to be declared in ROWS or COLUMNS,
// where it makes one field too many for the free format: so no file of the fixed format is misread as a free one.
// When both fail, the error of the format that came further is reported.
func parseEither(text []byte) (*Model, error) {
	m, free := parseMPS(text, false)
	if free == nil {
		return m, nil
	}
	m, fixed := parseMPS(text, true)
	if fixed == nil {
		return m, nil
	}
	if fixed.Line > free.Line && free.Line > 0 {
		return nil, fixed
	}
	return nil, free
}

// modelOrError keeps a nil *ReadError from becoming a non-nil error.
func modelOrError(m *Model, err *ReadError) (*Model, error) {
	if err != nil {
		return nil, err
	}
	return m, nil
}
