package load

import (
	"bufio"
	"context"
	flags "flag" // flag is what cleans
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
	"leadline/ingest/plane"
)

var longBench = flags.Bool("long", false, "benchmark a season of 200 days, too: a gigabyte of files, minutes")

// benchZone is three hours behind UTC, so that a day on the water is one day.
var benchZone = time.FixedZone("Etc/GMT+3", -3*3600)

// The first day of the made season; its last is of the next year.
var benchFirst = time.Date(2031, time.May, 1, 6, 0, 0, 0, benchZone)

const (
	secondsADay = 36000 // ten hours with a fix and a sounding a second
	spikeEvery  = 4000  // seconds from one fix that jumps away to the next
)

// A madeDays is a season in files, and their bytes.
type madeDays struct {
	dir string
	raw int64
}

// makeDays writes the files of a season of days: a track and a sonar log a day, with receiver wander, spikes and, on every third
// day, a logger's clock 47 s slow; 25 catches a day and a level. The boat runs between twenty of sixty spots and
// drifts at each, over the bottom of package analyse's benchmark. The same number of days gives the same bytes.
func makeDays(b *testing.B, days int) madeDays {
	b.Helper()
	m := madeDays{dir: b.TempDir()}
	frame := plane.New(orb.Point{-40, 36.5})
	rng := rand.New(rand.NewPCG(51, uint64(days)))
	var spots []r2.Vec
	for range 60 {
		spots = append(spots, r2.Vec{X: 4000 * rng.Float64(), Y: 3000 * rng.Float64()})
	}
	bottomM := func(v r2.Vec) float64 { return 8 + 4*math.Sin(v.X/300)*math.Cos(v.Y/250) }
	put := func(name string, write func(w *bufio.Writer)) {
		f, err := os.Create(filepath.Join(m.dir, name))
		if err != nil {
			b.Fatal(err)
		}
		w := bufio.NewWriter(f)
		write(w)
		if err := w.Flush(); err != nil {
			b.Fatal(err)
		}
		info, err := f.Stat()
		if err != nil {
			b.Fatal(err)
		}
		m.raw += info.Size()
		if err := f.Close(); err != nil {
			b.Fatal(err)
		}
	}
	catches := []byte("date,time,kind,species,count,length_in,depth_ft,head_oz,lat,lon,note\n")
	levels := []byte("date,level_ft\n")
	for k := range days {
		start := benchFirst.AddDate(0, 0, k)
		date := start.Format(time.DateOnly)
		path := make([]r2.Vec, 0, secondsADay+1500)
		at := spots[0]
		for len(path) < secondsADay {
			to := spots[rng.IntN(len(spots))]
			n := max(1, int(r2.Norm(r2.Sub(to, at))/8))
			for i := range n {
				path = append(path, r2.Add(at, r2.Scale(float64(i)/float64(n), r2.Sub(to, at))))
			}
			way := plane.Toward(360 * rng.Float64())
			for i := range 1500 {
				at = r2.Add(to, r2.Scale(0.15*float64(i%500)-37, way))
				path = append(path, at)
			}
		}
		path = path[:secondsADay]
		var line []byte
		put(date+"-track.gpx", func(w *bufio.Writer) {
			w.WriteString("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"made\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n<trk><name>" + date + "</name>\n<trkseg>\n")
			var wander r2.Vec // of some minutes and 3 m, as receivers have it; from fix to fix 0.2 m
			for i, v := range path {
				wander = r2.Add(r2.Scale(0.998, wander), r2.Vec{X: 0.2 * rng.NormFloat64(), Y: 0.2 * rng.NormFloat64()})
				v = r2.Add(v, wander)
				if i%spikeEvery == spikeEvery/2 {
					v.X += 900
				}
				p := frame.Degrees(v)
				line = append(line[:0], `<trkpt lat="`...)
				line = strconv.AppendFloat(line, p.Lat(), 'f', 7, 64)
				line = append(line, `" lon="`...)
				line = strconv.AppendFloat(line, p.Lon(), 'f', 7, 64)
				line = append(line, `"><time>`...)
				line = start.Add(time.Duration(i)*time.Second).UTC().AppendFormat(line, time.RFC3339)
				line = append(line, "</time></trkpt>\n"...)
				w.Write(line)
			}
			w.WriteString("</trkseg></trk></gpx>\n")
		})
		slow := time.Duration(0)
		if k%3 == 2 {
			slow = 47 * time.Second
		}
		put(date+"-sonar.csv", func(w *bufio.Writer) {
			w.WriteString("time,depth_ft,water_temp_f,speed_mph\n")
			for i, v := range path {
				speedMPS := 0.0
				if i > 0 {
					speedMPS = math.Min(r2.Norm(r2.Sub(v, path[i-1])), 12)
				}
				line = start.Add(time.Duration(i)*time.Second-slow).UTC().AppendFormat(line[:0], time.RFC3339)
				line = append(line, ',')
				line = strconv.AppendFloat(line, (bottomM(v)-0.3+0.05*rng.NormFloat64())/0.3048, 'f', 1, 64)
				line = append(line, ',')
				line = strconv.AppendFloat(line, 60+3*math.Sin(float64(i)/8000), 'f', 1, 64)
				line = append(line, ',')
				line = strconv.AppendFloat(line, math.Max(0, speedMPS/0.44704+0.1*rng.NormFloat64()), 'f', 1, 64)
				w.Write(append(line, '\n'))
			}
		})
		for i := range 25 {
			t := start.Add(time.Duration(i*secondsADay/25) * time.Second)
			catches = fmt.Appendf(catches, "%s,catch,spotted bass,1,14.25,%.1f,0.5,,,\n", t.Format("2006-01-02,15:04:05"), 10+10*rng.Float64())
		}
		levels = fmt.Appendf(levels, "%s,%.2f\n", date, 512-0.01*float64(k))
	}
	put("catches.csv", func(w *bufio.Writer) { w.Write(catches) })
	put("levels.csv", func(w *bufio.Writer) { w.Write(levels) })
	return m
}

// perRaw reports the time of one of b.N passes over the raw bytes, in MB/s.
func (m madeDays) perRaw(b *testing.B) {
	b.ReportMetric(float64(m.raw)/1e6*float64(b.N)/b.Elapsed().Seconds(), "MB/s")
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N), "s/op")
	b.ReportMetric(0, "ns/op")
}

// BenchmarkBook: reading a season's files, alone (parse), with cleaning and joining (season), and into a new logbook (import);
// then what is read back of that logbook. MB/s is of the files as they are, book/raw the size of the logbook by
// theirs; fixes is how many a read gives.
func BenchmarkBook(b *testing.B) {
	opt := Options{Read: ingest.ReadOptions{Zone: benchZone}, MaxGap: 10 * time.Second, Depth: ingest.Corrections{TransducerM: 0.3}}
	ctx := context.Background()
	for _, days := range []int{10, 50, 200} {
		if days > 50 && !*longBench {
			continue
		}
		b.Run(fmt.Sprintf("%d days", days), func(b *testing.B) {
			made := makeDays(b, days)
			book := filepath.Join(b.TempDir(), "season.gpkg")
			b.Run("parse", func(b *testing.B) {
				for b.Loop() {
					_, _, err := readAll(ctx, []string{made.dir}, opt, func(r *result) { r.records.Tracks, r.records.Soundings = nil, nil })
					if err != nil {
						b.Fatal(err)
					}
				}
				made.perRaw(b)
			})
			b.Run("season", func(b *testing.B) {
				for b.Loop() {
					s, err := Season(ctx, []string{made.dir}, opt)
					if err != nil || len(s.Days) != days {
						b.Fatal(len(s.Days), err)
					}
				}
				made.perRaw(b)
			})
			importBook := func(b *testing.B) {
				if err := os.Remove(book); err != nil && !os.IsNotExist(err) {
					b.Fatal(err)
				}
				k, err := OpenBook(ctx, book, true)
				if err != nil {
					b.Fatal(err)
				}
				im, err := k.Import(ctx, []string{made.dir}, opt, AskAgain)
				if err != nil || len(im.Days) != days {
					b.Fatal(len(im.Days), err)
				}
				if err := k.Close(); err != nil {
					b.Fatal(err)
				}
			}
			b.Run("import", func(b *testing.B) {
				for b.Loop() {
					importBook(b)
				}
				made.perRaw(b)
				info, err := os.Stat(book)
				if err != nil {
					b.Fatal(err)
				}
				b.ReportMetric(float64(info.Size())/float64(made.raw), "book/raw")
			})
			ready := func(b *testing.B) {
				if _, err := os.Stat(book); err != nil { // only reads were asked for
					importBook(b)
				}
			}
			day := func(k int) string { return benchFirst.AddDate(0, 0, k).Format(time.DateOnly) }
			mid := days / 2
			box := orb.Bound{Min: orb.Point{-40, 36.5}, Max: orb.Point{-39.98, 36.515}}
			reads := []struct {
				name   string
				days   int
				filter ingest.Filter
			}{
				{"read hours and box of a day", 1, ingest.Filter{FirstDay: day(mid), LastDay: day(mid), HourFrom: ingest.Known(6), HourTo: ingest.Known(9), Box: &box}},
				{"read a day", 1, ingest.Filter{FirstDay: day(mid), LastDay: day(mid)}},
				{"read a week", 7, ingest.Filter{FirstDay: day(mid - 3), LastDay: day(mid + 3)}},
				{"read a month", 30, ingest.Filter{FirstDay: day(mid - 15), LastDay: day(mid + 14)}},
				{"read all", days, ingest.Filter{}},
			}
			for _, r := range reads {
				if r.days > days {
					continue
				}
				b.Run(r.name, func(b *testing.B) {
					ready(b)
					fixes := 0
					for b.Loop() {
						k, err := OpenBook(ctx, book, false)
						if err != nil {
							b.Fatal(err)
						}
						s, _, err := k.Season(ctx, r.filter, opt)
						if err != nil || len(s.Days) != r.days {
							b.Fatal(len(s.Days), err)
						}
						k.Close()
						fixes = 0
						for _, d := range s.Days {
							for _, t := range d.Tracks {
								fixes += len(t.Fixes)
							}
						}
					}
					b.ReportMetric(float64(fixes), "fixes")
				})
			}
			b.Run("days", func(b *testing.B) {
				ready(b)
				for b.Loop() {
					k, err := OpenBook(ctx, book, false)
					if err != nil {
						b.Fatal(err)
					}
					list, err := k.Days(ctx)
					if err != nil || len(list) != days {
						b.Fatal(len(list), err)
					}
					k.Close()
				}
			})
		})
	}
}
