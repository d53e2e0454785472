package flight

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// ReplaceFile writes data to a file beside path, which then takes its place in one step:
// whoever reads path finds the old file or the new one, never half of either, and if
// anything fails the old one stays. The folder must be there. The new file may be read
// by all and written by its owner (0644). Raw logs are never written to; that path names
// none is for the caller to know.
func ReplaceFile(path string, data []byte) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+"-*")
	if err != nil {
		return fmt.Errorf("%s: cannot be written: %w", path, causeOf(err))
	}
	defer func() {
		if err != nil {
			err = fmt.Errorf("%s: cannot be written: %w", path, causeOf(err))
			_ = os.Remove(f.Name())
		}
	}()
	_, err = f.Write(data)
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync() // or a loss of power may leave an empty file under the name
	}
	if e := f.Close(); err == nil {
		err = e
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}

// causeOf takes the name of the temporary file off an error: nobody has named it.
func causeOf(err error) error {
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
