package load

import (
	"archive/zip"
	"bufio"
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
)

// What a packed file may unpack to. A GPX track shrinks to a fifteenth, a depth
// log to a tenth; what grows by more than mostGrowth is no recording. The first
// few megabytes are let through, so that a short file of one repeated line is not
// refused.
const (
	mostEntries   = 10000
	mostUnpacked  = 4 << 30
	mostGrowth    = 200
	freeOfGrowthB = 16 << 20
)

// A file to be read, in a folder, in an archive, or by itself.
type file struct {
	name  string // as shown
	base  string // last element, by which flags name it
	found bool   // met in a folder or an archive rather than named
	alone string // why it is left alone; empty when it is to be read
	sizeB int64  // packed
	open  func() (io.ReadCloser, error)
}

// expand replaces folders and archives by what is in them.
func expand(ctx context.Context, paths []string) ([]file, error) {
	var files []file
	var errs error
	for _, p := range paths {
		more, err := expandOne(ctx, p, false)
		if err != nil {
			errs = errors.Join(errs, err)
		}
		files = append(files, more...)
	}
	if errs == nil && len(files) == 0 {
		errs = errors.New("no files to read")
	}
	return files, errs
}

func expandOne(ctx context.Context, p string, found bool) ([]file, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	info, err := os.Stat(p)
	if err != nil {
		return nil, plain(err)
	}
	switch {
	case info.IsDir():
		entries, err := os.ReadDir(p) // sorted by name
		if err != nil {
			return nil, plain(err)
		}
		var files []file
		var errs error
		for _, e := range entries {
			name := filepath.Join(p, e.Name())
			switch {
			case strings.HasPrefix(e.Name(), "."): // the system's own
			case e.Type().IsRegular():
				more, err := expandOne(ctx, name, true)
				files, errs = append(files, more...), errors.Join(errs, err)
			default:
				files = append(files, file{name: name, base: e.Name(), found: true, alone: kindOf(e.Type()) + ", left alone"})
			}
		}
		return files, errs
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: %s, wanted a file or a folder", p, kindOf(info.Mode()))
	}
	f := file{name: p, base: filepath.Base(p), found: found, sizeB: info.Size(), open: func() (io.ReadCloser, error) { return openWhole(p) }}
	head, err := headOf(f)
	if err != nil {
		return nil, err
	}
	if bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06")) {
		return expandZip(p, info.Size())
	}
	return []file{f}, nil
}

func kindOf(m fs.FileMode) string {
	switch {
	case m.IsDir():
		return "folder"
	case m&fs.ModeSymlink != 0:
		return "symbolic link"
	case m&fs.ModeNamedPipe != 0:
		return "pipe"
	case m&fs.ModeSocket != 0:
		return "socket"
	case m&fs.ModeDevice != 0:
		return "device"
	}
	return "no regular file"
}

// headOf returns the first bytes of a file.
func headOf(f file) ([]byte, error) {
	in, err := f.open()
	if err != nil {
		return nil, plain(err)
	}
	defer in.Close()
	head := make([]byte, 4)
	n, err := io.ReadFull(in, head)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil, plain(err)
	}
	return head[:n], nil
}

// expandZip lists the files of an archive, in order of name. They are read in
// place; nothing is unpacked to the disk.
func expandZip(p string, sizeB int64) ([]file, error) {
	z, err := zip.OpenReader(p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p, err)
	}
	defer z.Close()
	if len(z.File) > mostEntries {
		return nil, fmt.Errorf("%s: %d files in the archive, wanted at most %d", p, len(z.File), mostEntries)
	}
	var files []file
	for _, e := range z.File {
		name := p + "/" + e.Name
		f := file{name: name, base: path.Base(e.Name), found: true, sizeB: sizeB}
		switch {
		case !filepath.IsLocal(filepath.FromSlash(strings.ReplaceAll(e.Name, `\`, "/"))):
			return nil, fmt.Errorf("%s: the archive has a file named %q, which points outside it", p, e.Name)
		case strings.HasSuffix(e.Name, "/"), strings.HasPrefix(f.base, "."), strings.HasPrefix(e.Name, "__MACOSX/"):
			continue
		case e.Flags&1 != 0:
			return nil, fmt.Errorf("%s: encrypted, wanted an archive without a password", name)
		case !e.Mode().IsRegular():
			f.alone = kindOf(e.Mode()) + ", left alone"
		}
		f.open = func() (io.ReadCloser, error) { return openInZip(p, e.Name, sizeB) }
		files = append(files, f)
	}
	slices.SortStableFunc(files, func(a, b file) int { return strings.Compare(a.name, b.name) })
	return files, nil
}

// openInZip opens one file of an archive. Each opens the archive anew, so that files
// are read side by side.
func openInZip(p, entry string, sizeB int64) (io.ReadCloser, error) {
	z, err := zip.OpenReader(p)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", p, err)
	}
	// By the list of entries: Open of archive/zip takes no name that isn't UTF-8, as older programs write them.
	i := slices.IndexFunc(z.File, func(f *zip.File) bool { return f.Name == entry })
	if i < 0 {
		z.Close()
		return nil, fmt.Errorf("%s/%s: %w", p, entry, fs.ErrNotExist)
	}
	in, err := z.File[i].Open()
	if err != nil {
		z.Close()
		return nil, fmt.Errorf("%s/%s: %w", p, entry, err)
	}
	return closers{&unpacked{in: in, name: p + "/" + entry, packedB: sizeB}, []io.Closer{in, z}}, nil
}

// openWhole opens a file that must give as many bytes as it has when it is opened.
func openWhole(p string) (io.ReadCloser, error) {
	f, err := os.Open(p)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err != nil {
		f.Close()
		return nil, err
	}
	return closers{&whole{in: f, name: p, sizeB: info.Size()}, []io.Closer{f}}, nil
}

// unzipped returns r, or what it unpacks to if it is gzip.
func unzipped(r *bufio.Reader, name string, packedB int64) (*bufio.Reader, error) {
	head, err := r.Peek(2)
	if err != nil || head[0] != 0x1f || head[1] != 0x8b {
		return r, nil // a file of one byte is the readers' to refuse
	}
	z, err := gzip.NewReader(r)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return bufio.NewReaderSize(&unpacked{in: z, name: name, packedB: packedB}, headBytes), nil
}

type closers struct {
	io.Reader
	all []io.Closer
}

func (c closers) Close() (err error) {
	for _, x := range c.all {
		err = errors.Join(err, x.Close())
	}
	return err
}

// whole fails when a file ends before the size it had.
type whole struct {
	in           io.Reader
	name         string
	readB, sizeB int64
}

func (w *whole) Read(p []byte) (int, error) {
	n, err := w.in.Read(p)
	w.readB += int64(n)
	if errors.Is(err, io.EOF) && w.readB < w.sizeB {
		return n, fmt.Errorf("%s: shrank while it was read, %d of %d bytes are left", w.name, w.readB, w.sizeB)
	}
	return n, err
}

// unpacked fails when a packed file unpacks to more than any recording would.
type unpacked struct {
	in             io.Reader
	name           string
	readB, packedB int64
}

func (u *unpacked) Read(p []byte) (int, error) {
	n, err := u.in.Read(p)
	u.readB += int64(n)
	if u.readB > mostUnpacked || u.readB > freeOfGrowthB && u.readB > mostGrowth*u.packedB {
		return 0, fmt.Errorf("%s: unpacks to more than %d MB from %d kB, which no recording does", u.name, u.readB>>20, u.packedB>>10)
	}
	if err != nil && !errors.Is(err, io.EOF) {
		err = fmt.Errorf("%s: %w", u.name, err)
	}
	return n, err
}
