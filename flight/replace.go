package flight

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// ReplaceFile writes data to a file beside path, which then takes its place in one step:
// whoever reads path finds the old file or the new one, never half of either, and if
// anything fails the old one stays. The folder must be there. The new file may be read
// by all and written by its owner (0644). Raw logs are never written to; that path names
// none is for the caller to know.
func ReplaceFile(path string, data []byte) error {
	return ReplaceWith(path, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// ReplaceWith is ReplaceFile for what write writes, a part at a time. An error of write's
// own comes back as it is.
func ReplaceWith(path string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return unwritten(path, err)
	}
	defer func() {
		if err != nil {
			f.Close() // closed already, or of no more use
			_ = os.Remove(f.Name())
		}
	}()
	b := bufio.NewWriter(f)
	if err := write(b); err != nil {
		return err
	}
	err = b.Flush()
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync() // or a loss of power may leave an empty file under the name
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return unwritten(path, err)
	}
	return nil
}

func unwritten(path string, err error) error {
	return fmt.Errorf("%s: cannot be written: %w; name a folder that you may write to", path, CauseOf(err))
}

// CauseOf takes the name of the file off an error, for where that is a temporary one that nobody
// has named.
func CauseOf(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	var link *os.LinkError
	if errors.As(err, &link) {
		return link.Err
	}
	return err
}
