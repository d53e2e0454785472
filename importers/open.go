package importers

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"unicode/utf16"
	"unicode/utf8"
)

// maxConverted is the largest file in bytes that is converted in memory; files in
// UTF-8 are never held in memory and may be of any size.
const maxConverted = 256 << 20

// input is the text of one log, readable at any place by several readers at once.
type input struct {
	name     string // base name
	r        io.ReaderAt
	size     int64
	start    int64  // first byte after the byte-order mark
	encoding string // in words, empty for plain UTF-8
	file     *os.File
}

func (in *input) Close() error {
	if in.file == nil {
		return nil
	}
	return in.file.Close()
}

// openInput opens a log and finds out its encoding. UTF-16 is converted in memory.
func openInput(path string) (*input, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fileError(path, err)
	}
	if info.IsDir() {
		return nil, fmt.Errorf("%s: is a folder, not a log file", path)
	}
	if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s: is not a regular file; copy the log to a file first", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fileError(path, err)
	}
	in := &input{name: filepath.Base(path), r: f, size: info.Size(), file: f}
	if err := in.decode(path); err != nil {
		f.Close()
		return nil, err
	}
	return in, nil
}

// fileError words the reason a file cannot be opened, and what to do.
func fileError(path string, err error) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fmt.Errorf("%s: there is no such file or folder: %w", path, fs.ErrNotExist)
	case errors.Is(err, fs.ErrPermission):
		return fmt.Errorf("%s: may not be read (%w): change its permissions", path, fs.ErrPermission)
	}
	return fmt.Errorf("%s: cannot be read: %w", path, err)
}

func (in *input) decode(path string) error {
	head := make([]byte, 4096)
	n, err := in.r.ReadAt(head, 0)
	if err != nil && err != io.EOF {
		return fileError(path, err)
	}
	head = head[:n]
	switch {
	case n == 0:
		return fmt.Errorf("%s: the file is empty; copy it from the logger again", path)
	case bytes.HasPrefix(head, []byte{0xEF, 0xBB, 0xBF}):
		in.start, in.encoding = 3, "UTF-8 with byte-order mark"
		return nil
	}
	order, skip := utf16Order(head)
	if order == nil {
		return nil
	}
	if in.size > maxConverted {
		return fmt.Errorf("%s: is in UTF-16 and larger than %d MB; save it as UTF-8", path, maxConverted>>20)
	}
	text, err := fromUTF16(io.NewSectionReader(in.r, skip, in.size-skip), order, in.size)
	if err != nil {
		return fileError(path, err)
	}
	in.r, in.size, in.encoding = bytes.NewReader(text), int64(len(text)), "UTF-16"
	return nil
}

// utf16Order recognises UTF-16 by its byte-order mark or, without one, by zeros in every
// other place. It returns nil for anything else.
func utf16Order(head []byte) (order binary.ByteOrder, skip int64) {
	switch {
	case bytes.HasPrefix(head, []byte{0xFF, 0xFE}):
		return binary.LittleEndian, 2
	case bytes.HasPrefix(head, []byte{0xFE, 0xFF}):
		return binary.BigEndian, 2
	}
	if len(head) < 16 {
		return nil, 0
	}
	var zeros [2]int
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	half := len(head) / 2
	switch {
	case zeros[1] > half*9/10 && zeros[0] == 0:
		return binary.LittleEndian, 0
	case zeros[0] > half*9/10 && zeros[1] == 0:
		return binary.BigEndian, 0
	}
	return nil, 0
}

func fromUTF16(r io.Reader, order binary.ByteOrder, size int64) ([]byte, error) {
	br := bufio.NewReaderSize(r, 1<<16)
	out := make([]byte, 0, size/2+16)
	var pair [2]byte
	next := func() (rune, error) {
		if _, err := io.ReadFull(br, pair[:]); err != nil {
			return 0, err
		}
		return rune(order.Uint16(pair[:])), nil
	}
	for {
		u, err := next()
		if err == io.EOF || err == io.ErrUnexpectedEOF {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		if utf16.IsSurrogate(u) {
			low, err := next()
			if err != nil {
				return utf8.AppendRune(out, utf8.RuneError), nil
			}
			u = utf16.DecodeRune(u, low)
		}
		out = utf8.AppendRune(out, u)
	}
}

// hashFile returns the SHA-256 of a file's bytes in hex.
func hashFile(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.CopyBuffer(h, struct{ io.Reader }{f}, make([]byte, 1<<18)); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
