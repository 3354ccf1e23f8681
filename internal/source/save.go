package source

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Save puts data in the place of a file, all of it or nothing: it writes a new file in the same folder, waits until it
// is on the disk, and renames it. The mode of an existing file is kept, and where the path is a link the file that it
// points to is replaced; a new file can be read by all and written by its owner.
func Save(path string, data []byte) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("save %s: %w", path, err)
		}
	}()
	mode := fs.FileMode(0o644)
	real, err := filepath.EvalSymlinks(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if _, err := os.Lstat(path); err == nil {
			return errors.New("it is a link to a file that is not there")
		}
		real = path
	case err != nil:
		return err
	default:
		info, err := os.Stat(real)
		if err != nil {
			return err
		}
		if !info.Mode().IsRegular() {
			return errors.New("it is not a file")
		}
		mode = info.Mode().Perm()
	}
	dir := filepath.Dir(real)
	tmp, err := os.CreateTemp(dir, "."+filepath.Base(real)+".*.tmp")
	if errors.Is(err, fs.ErrPermission) {
		return fmt.Errorf("the folder %s lets nothing be written into it: %w", dir, fs.ErrPermission)
	}
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			tmp.Close()
			os.Remove(tmp.Name())
		}
	}()
	if _, err = tmp.Write(data); err != nil {
		return err
	}
	if err = tmp.Chmod(mode); err != nil {
		return err
	}
	if err = tmp.Sync(); err != nil {
		return err
	}
	if err = tmp.Close(); err != nil {
		return err
	}
	if err = os.Rename(tmp.Name(), real); err != nil {
		return err
	}
	if d, err := os.Open(dir); err == nil { // so that the new name is on the disk too; not every system can
		_ = d.Sync()
		d.Close()
	}
	return nil
}
