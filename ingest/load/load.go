// Package load is the door to ingest: paths go in, a joined season comes out. It
// is the only package that opens recordings.
package load

import (
	"bufio"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"leadline/ingest"
	"leadline/ingest/clean"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
	"leadline/ingest/join"
)

// Options is what the reading and joining need to be told.
type Options struct {
	Read     ingest.ReadOptions
	Offsets  map[string]time.Duration // added to the clock of single files, by base name; wins over Read.ClockOffset
	MaxGap   time.Duration            // positions are interpolated across gaps of at most this
	Depth    ingest.Corrections       // of recorded depths
	Progress func(done, total int)    // unless nil, told after each file; calls never overlap
}

// A reader is one kind of file that can be read.
type reader struct {
	recognise func(head []byte) bool
	read      func(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error)
}

// readers in the order in which they are asked. A new reader is added here.
var readers = []reader{
	{gpxfile.Recognise, gpxfile.Read},
	{csvfile.Recognise, csvfile.Read},
}

// accepted is what a message offers when a file is none of the readers'.
const accepted = "GPX, a CSV depth log, a CSV catch log, or a CSV table of water levels"

// headBytes is how much of a file the readers see to recognise it by: enough for a
// preamble of some hundred lines.
const headBytes = 16 << 10

// Season reads files, cleans and joins them. A folder stands for the files in it,
// in order of name; those that are no recordings are listed as left alone.
//
// Errors: every file that can't be opened, isn't a regular file, isn't recognised
// or can't be read, joined into one; an Offsets name that no file has; and that of
// ctx when it ends first. Rows that can't be used are no errors: they are in
// Season.Problems. The result does not depend on the number of cores.
func Season(ctx context.Context, paths []string, opt Options) (ingest.Season, error) {
	files, err := expand(paths)
	if err != nil {
		return ingest.Season{}, err
	}
	for name := range opt.Offsets {
		if !slices.ContainsFunc(files, func(f file) bool { return filepath.Base(f.path) == name }) {
			err = errors.Join(err, fmt.Errorf("clock offset for %q, which is none of the files", name))
		}
	}
	if err != nil {
		return ingest.Season{}, err
	}
	read := make([]result, len(files))
	var wait sync.WaitGroup
	var told sync.Mutex
	done := 0
	queue := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for i := range queue {
				read[i] = readFile(ctx, files[i], opt)
				told.Lock()
				done++
				if opt.Progress != nil {
					opt.Progress(done, len(files))
				}
				told.Unlock()
			}
		})
	}
	for i := range files {
		queue <- i
	}
	close(queue)
	wait.Wait()
	if err := ctx.Err(); err != nil {
		return ingest.Season{}, err
	}
	var records []ingest.Records
	first := map[[sha256.Size]byte]string{}
	for i, r := range read {
		if r.err != nil {
			err = errors.Join(err, r.err)
			continue
		}
		if name, seen := first[r.sum]; seen && r.records.Source.RowsRead > 0 {
			r.records = ingest.Records{Source: ingest.Source{Name: files[i].path, TakenFor: "copy of " + name + ", left alone"}}
		} else {
			first[r.sum] = files[i].path
		}
		records = append(records, r.records)
	}
	if err != nil {
		return ingest.Season{}, err
	}
	flag(records)
	return join.Season(records, join.Options{Zone: opt.Read.Zone, MaxGap: opt.MaxGap, Depth: opt.Depth}), nil
}

// A file to be read; found tells that it was met in a folder rather than named.
type file struct {
	path  string
	found bool
}

// expand replaces folders by their files.
func expand(paths []string) ([]file, error) {
	var files []file
	var errs error
	for _, p := range paths {
		info, err := os.Stat(p)
		switch {
		case err != nil:
			errs = errors.Join(errs, plain(err))
		case info.IsDir():
			entries, err := os.ReadDir(p) // sorted by name
			if err != nil {
				errs = errors.Join(errs, plain(err))
				continue
			}
			for _, e := range entries {
				if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") {
					files = append(files, file{filepath.Join(p, e.Name()), true})
				}
			}
		case !info.Mode().IsRegular():
			errs = errors.Join(errs, fmt.Errorf("%s: not a regular file", p))
		default:
			files = append(files, file{p, false})
		}
	}
	if errs == nil && len(files) == 0 {
		errs = errors.New("no files to read")
	}
	return files, errs
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
	err     error
}

// readFile reads one file by the reader that recognises it.
func readFile(ctx context.Context, f file, opt Options) result {
	in, err := os.Open(f.path)
	if err != nil {
		return result{err: plain(err)}
	}
	defer in.Close()
	hash := sha256.New()
	buffered := bufio.NewReaderSize(io.TeeReader(stopper{ctx, in}, hash), headBytes)
	head, err := buffered.Peek(headBytes)
	if err != nil && !errors.Is(err, io.EOF) {
		return result{err: plain(err)}
	}
	i := slices.IndexFunc(readers, func(r reader) bool { return r.recognise(head) })
	if i < 0 {
		if f.found {
			return result{records: ingest.Records{Source: ingest.Source{Name: f.path, TakenFor: "no recording, left alone"}}}
		}
		return result{err: fmt.Errorf("%s: not recognised by its content, wanted %s", f.path, accepted)}
	}
	read := opt.Read
	asked, isAsked := opt.Offsets[filepath.Base(f.path)]
	if isAsked {
		read.ClockOffset = asked
	}
	records, err := readers[i].read(buffered, f.path, read)
	if err != nil {
		return result{err: err}
	}
	if _, err := io.Copy(io.Discard, buffered); err != nil { // the hash is of the whole file
		return result{err: plain(err)}
	}
	if len(records.Tracks) == 0 {
		records.Tracks = logTrack(records.Soundings)
	}
	if isAsked || read.ClockOffset != 0 {
		records.Source.ClockOffsetS = ingest.Known(read.ClockOffset.Seconds())
	}
	r := result{records: records}
	hash.Sum(r.sum[:0])
	return r
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

// flag cleans all records and counts the flags of each file.
func flag(records []ingest.Records) {
	var tracks []ingest.Track
	for i := range records {
		for _, t := range records[i].Tracks {
			t.Source = i
			tracks = append(tracks, t)
		}
		s := records[i].Soundings
		slices.SortStableFunc(s, func(a, b ingest.Sounding) int { return a.Time.Compare(b.Time) })
		clean.Soundings(s)
		for _, x := range s {
			count(&records[i].Source, x.Flags.Names())
		}
	}
	clean.Tracks(tracks) // shares the fixes with records
	for _, t := range tracks {
		for _, f := range t.Fixes {
			if t.FromLog && f.Flags == ingest.FixCovered {
				continue // as it should be: the row's depth is used, its place comes from the receiver
			}
			count(&records[t.Source].Source, f.Flags.Names())
		}
	}
}

func count(s *ingest.Source, names []string) {
	for _, n := range names {
		if s.Flagged == nil {
			s.Flagged = map[string]int{}
		}
		s.Flagged[n]++
	}
}
