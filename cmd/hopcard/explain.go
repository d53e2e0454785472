package main

import (
	"errors"
	"io/fs"
	"syscall"
)

// explain words an error for a person: what is wrong and what to do about it. Errors of
// the operating system are reworded; those of the readers say it themselves.
func explain(err error) string {
	var path *fs.PathError
	if !errors.As(err, &path) {
		return err.Error()
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return path.Path + ": there is no such file or folder; name a folder of logs or one log file"
	case errors.Is(err, fs.ErrPermission):
		return path.Path + ": may not be read or written; change its permissions or copy it elsewhere"
	case errors.Is(err, syscall.ENOSPC):
		return path.Path + ": the disk is full; make room or name another place"
	}
	return path.Path + ": " + path.Err.Error() + "; check the file or copy it elsewhere"
}
