// Package dayfile writes a day's raw records as GPX 1.1 and CSV at full rate, so
// that package ingest/load reads the same records back. Nothing is computed,
// rounded or left out: flagged records and fixes without a time are written too.
//
// # What comes back
//
// Every number is written in SI with the fewest digits that give the same float64,
// under a header that names the unit, so that no conversion touches it; every
// instant in UTC to the nanosecond. An unknown value is an empty cell, or no
// element, and comes back unknown. Fields Line, Source, Flags and Track.FromLog are
// not written: the reader sets them anew.
//
// What can't come back, however it is written:
//
//   - minus zero in CSV, but in a position, comes back as zero; a wind from 360° and
//     a course of 360° as 0°
//   - a value outside the range that the reader takes for one that can be, which
//     other readers take: a boat speed above 100 m/s is unknown, a wind above 115 m/s
//     is set aside. So is a catch of more than 10,000 fish
//   - a time before 1980 or after 2100: a fix comes back without it, a row is set
//     aside when it has nothing else to stand by
//   - a row or name of more than 1 MiB
//
// # Text
//
// Bytes that are not UTF-8 become U+FFFD. Blanks around a text are lost, as the
// readers trim them.
//
// In GPX, characters that XML 1.0 can't hold (most control characters, U+FFFE,
// U+FFFF) are dropped; line breaks stay.
//
// In CSV, control characters stay. A line break within a note comes back as a line
// feed; in a species, or in a note that the reader would lose its way in, as a
// blank (see joins). A text that begins with =, +, - or @ gets a blank before it,
// which keeps spreadsheets from reckoning it as a formula (common practice, no
// source) and which the reader trims. Texts that say there is none, such as "-",
// "NA" or "none", come back empty. A catch whose species is a word for no fish, such
// as "nothing", would be set aside with its row: its species is left empty.
package dayfile

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// ErrTwoRefs is the error for soundings of more than one DepthRef. A table has one
// column of depths and its header says from where they are: each reference takes a
// table of its own.
var ErrTwoRefs = errors.New("depths from more than one reference, wanted one in a table")

// ErrAllNegative is the error for soundings of which one is below zero and none
// above it. The reader takes such a table as positive upward and would turn every
// sign: a lost bottom logged as -1 m would come back as one metre of water.
var ErrAllNegative = errors.New("no depth above zero and one below, which would come back with the sign turned")

var errNotFinite = errors.New("wanted a finite number")

// finite is the error for a value that is no number: a programmer's mistake
// upstream, which must not become a file that reads as something else.
func finite(what string, v float64) error {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%s is %v, %w", what, v, errNotFinite)
	}
	return nil
}

// appendNumber writes the shortest decimal that reads as v again. It has no
// exponent: the decimal of XML Schema, in which GPX has its positions, has none.
func appendNumber(b []byte, v float64) []byte { return strconv.AppendFloat(b, v, 'f', -1, 64) }
