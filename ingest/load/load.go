// Package load is the door to ingest: paths go in, a joined season comes out. It
// is the only package that opens recordings.
package load

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/clock"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
	"leadline/ingest/join"
	"leadline/ingest/logbook"
	"leadline/ingest/nmeafile"
	"leadline/ingest/photo"
	"leadline/ingest/points"
)

// Options is what the reading and joining need to be told.
type Options struct {
	Read     ingest.ReadOptions
	Offsets  map[string]time.Duration // added to the clock of single files, by base name; wins over Read.ClockOffset
	MaxGap   time.Duration            // positions are interpolated across gaps of at most this
	Depth    ingest.Corrections       // of recorded depths
	Levels   []ingest.Level           // water levels that stand in no file; one of a file wins
	Progress func(done, total int)    // unless nil, told after each file; calls never overlap
	// NoSpeeds says that speeds and courses as recorded are not wanted: a logbook's are then not read, a file's are.
	NoSpeeds bool
}

// NoZone is the error when files are refused because their times carry no zone.
// Offer is the nautical zone that the tracks beside them lie in, by its IANA name,
// empty without a track. It is offered, never used.
type NoZone struct {
	error
	Offer string
}

func (n NoZone) Unwrap() error { return n.error }

// zoneOf returns the nautical zone of the first fix.
func zoneOf(read []result) string {
	for _, r := range read {
		for _, t := range r.records.Tracks {
			for _, f := range t.Fixes {
				if f.Pos != (orb.Point{}) {
					return clock.Zone(f.Pos.Lon())
				}
			}
		}
	}
	return ""
}

// each calls f for 0 to n-1, as many at a time as there are cores.
func each(n int, f func(i int)) {
	var wait sync.WaitGroup
	queue := make(chan int)
	for range min(n, runtime.GOMAXPROCS(0)) {
		wait.Go(func() {
			for i := range queue {
				f(i)
			}
		})
	}
	for i := range n {
		queue <- i
	}
	close(queue)
	wait.Wait()
}

// A reader is one kind of file that can be read.
type reader struct {
	recognise func(head []byte, opt ingest.ReadOptions) bool
	read      func(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error)
}

// readers in the order in which they are asked. A new reader is added here.
var readers = []reader{
	{byContent(gpxfile.Recognise), gpxfile.Read},
	{byContent(points.Recognise), points.Read},
	{byContent(photo.Recognise), photo.Read},
	{byContent(nmeafile.Recognise), nmeafile.Read},
	{func(head []byte, opt ingest.ReadOptions) bool { return csvfile.RecogniseAs(head, opt.Columns) }, csvfile.Read},
}

// byContent is a recogniser that needs nothing but the content.
func byContent(recognise func(head []byte) bool) func([]byte, ingest.ReadOptions) bool {
	return func(head []byte, _ ingest.ReadOptions) bool { return recognise(head) }
}

// accepted is what a message offers when a file is none of the readers'.
const accepted = "GPX, a CSV depth log, catch log, or table of water levels or wind, an NMEA 0183 log, GeoJSON or KML points, a JPEG photograph, or a .zip or .gz of them"

// headBytes is how much of a file the readers see to recognise it by: enough for a
// preamble of some hundred lines.
const headBytes = 64 << 10

// Season reads files, cleans and joins them. A folder stands for the files in it,
// in order of name; those that are no recordings are listed as left alone.
//
// Errors: every file that can't be opened, isn't a regular file, isn't recognised
// or can't be read, joined into one; an Offsets name that no file has; and that of
// ctx when it ends first. Rows that can't be used are no errors: they are in
// Season.Problems. The result does not depend on the number of cores.
func Season(ctx context.Context, paths []string, opt Options) (ingest.Season, error) {
	files, read, err := readAll(ctx, paths, opt, func(*result) {})
	if err != nil {
		return ingest.Season{}, err
	}
	var records []ingest.Records
	first := map[[sha256.Size]byte]string{}
	for i, r := range read {
		if name, seen := first[r.sum]; seen && r.records.Source.RowsRead > 0 {
			r.records = ingest.Records{Source: ingest.Source{Name: files[i].name, TakenFor: "copy of " + name + ", left alone"}}
		} else {
			first[r.sum] = files[i].name
		}
		records = append(records, r.records)
	}
	flag(records, opt.Depth.TransducerM, nil)
	return join.Season(records, opt.joining()), nil
}

// joining is what the joining needs to be told.
func (opt Options) joining() join.Options {
	return join.Options{Zone: opt.Read.Zone, MaxGap: opt.MaxGap, Depth: opt.Depth, Levels: opt.Levels}
}

// readAll reads files, as many at a time as there are cores; then is called with each that could be read, in
// any order and at the same time. Errors are those of Season.
func readAll(ctx context.Context, paths []string, opt Options, then func(*result)) ([]file, []result, error) {
	files, err := expand(ctx, paths)
	if err != nil {
		return nil, nil, err
	}
	for name := range opt.Offsets {
		if !slices.ContainsFunc(files, func(f file) bool { return f.base == name }) {
			err = errors.Join(err, fmt.Errorf("clock offset for %q, which is none of the files", name))
		}
	}
	if err != nil {
		return nil, nil, err
	}
	read := make([]result, len(files))
	var told sync.Mutex
	done := 0
	each(len(files), func(i int) {
		read[i] = readFile(ctx, files[i], opt)
		if read[i].err == nil {
			then(&read[i])
		}
		told.Lock()
		defer told.Unlock()
		done++
		if opt.Progress != nil {
			opt.Progress(done, len(files))
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	for _, r := range read {
		err = errors.Join(err, r.err)
	}
	if errors.Is(err, ingest.ErrZone) {
		err = NoZone{err, zoneOf(read)}
	}
	return files, read, err
}

// plain takes the system call's name out of an error: "boat.gpx: no such file or directory".
func plain(err error) error {
	var p *os.PathError
	if errors.As(err, &p) {
		return fmt.Errorf("%s: %w", p.Path, p.Err)
	}
	return err
}

type result struct {
	records ingest.Records
	sum     [sha256.Size]byte
	kept    logbook.Source // set by an import
	err     error
}

// readFile reads one file by the reader that recognises it.
func readFile(ctx context.Context, f file, opt Options) result {
	if f.alone != "" {
		return result{records: ingest.Records{Source: ingest.Source{Name: f.name, TakenFor: f.alone}}}
	}
	in, err := f.open()
	if err != nil {
		return result{err: plain(err)}
	}
	defer in.Close()
	hash := sha256.New()
	packed := bufio.NewReaderSize(io.TeeReader(stopper{ctx, in}, hash), headBytes)
	buffered, err := unzipped(packed, f.name, f.sizeB)
	if err != nil {
		return result{err: plain(err)}
	}
	head, err := buffered.Peek(headBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return result{err: plain(err)}
	}
	if madeHere(head) {
		return result{records: ingest.Records{Source: ingest.Source{Name: f.name, TakenFor: "an overlay made by leadline, left alone"}}}
	}
	i := slices.IndexFunc(readers, func(r reader) bool { return r.recognise(head, opt.Read) })
	if i < 0 {
		if f.found {
			return result{records: ingest.Records{Source: ingest.Source{Name: f.name, TakenFor: "no recording, left alone"}}}
		}
		return result{err: fmt.Errorf("%s: not recognised by its content, wanted %s", f.name, accepted)}
	}
	read := opt.Read
	asked, isAsked := opt.Offsets[f.base]
	if isAsked {
		read.ClockOffset = asked
	}
	records, err := readers[i].read(buffered, f.name, read)
	if err != nil {
		return result{err: err}
	}
	// The hash is of the whole file, and a file that shrank must not pass for a short one.
	for _, rest := range []io.Reader{buffered, packed} {
		if _, err := io.Copy(io.Discard, rest); err != nil {
			return result{err: plain(err)}
		}
	}
	if len(records.Tracks) == 0 {
		records.Tracks = logTrack(records.Soundings)
	}
	if isAsked || read.ClockOffset != 0 {
		records.Source.ClockOffsetS = ingest.Known(read.ClockOffset.Seconds())
		records.Source.Clock = fmt.Sprintf("was moved by %+g s, as asked", read.ClockOffset.Seconds())
	}
	r := result{records: records}
	hash.Sum(r.sum[:0])
	return r
}

// madeHere recognises the overlays that export writes: taken for recordings, yesterday's
// zones would be today's catches.
func madeHere(head []byte) bool {
	for _, mark := range []string{`creator="leadline"`, `"generator": "leadline"`, "Made by leadline."} {
		if bytes.Contains(head[:min(len(head), 4096)], []byte(mark)) {
			return true
		}
	}
	return bytes.HasPrefix(head, []byte("kind,id,name,events,catches,days,effort_h,")) // a table has no room for a mark
}

// logTrack makes a track of the positions that a depth log carries beside its
// times: where no receiver's track covers them, they tell where the boat was.
func logTrack(soundings []ingest.Sounding) []ingest.Track {
	t := ingest.Track{FromLog: true}
	for _, s := range soundings {
		if s.HasPos && !s.Time.IsZero() {
			t.Fixes = append(t.Fixes, ingest.Fix{Time: s.Time, Pos: s.Pos, SpeedMPS: s.SpeedMPS, Line: s.Line})
		}
	}
	if len(t.Fixes) < 2 {
		return nil
	}
	return []ingest.Track{t}
}

// stopper ends reading when ctx does.
type stopper struct {
	ctx context.Context
	r   io.Reader
}

func (s stopper) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.r.Read(p)
}
