package output

import (
	"fmt"
	"io/fs"
	"os"
	"syscall"

	"golang.org/x/sys/unix"
)

// unnamed opens a file without a name in dir (open(2), O_TMPFILE). It disappears when the
// program ends, in whatever way.
func unnamed(dir string) (*os.File, error) {
	f, err := os.OpenFile(dir, os.O_RDWR|unix.O_TMPFILE, 0o666)
	if err != nil {
		return nil, err
	}
	if _, err := os.Stat(procName(f)); err != nil { // without /proc it could not get a name later
		f.Close()
		return nil, err
	}
	return f, nil
}

func linkUnnamed(f *os.File, name string) error {
	if err := unix.Linkat(unix.AT_FDCWD, procName(f), unix.AT_FDCWD, name, unix.AT_SYMLINK_FOLLOW); err != nil {
		return &fs.PathError{Op: "link", Path: name, Err: err}
	}
	return nil
}

func procName(f *os.File) string { return fmt.Sprintf("/proc/self/fd/%d", f.Fd()) }

// lock locks the file exclusively, without waiting. It reports whether it succeeded.
func lock(f *os.File) bool { return unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB) == nil }

// keepOwner gives f the owner and group of info, if the user may do so.
func keepOwner(f *os.File, info fs.FileInfo) {
	if s, ok := info.Sys().(*syscall.Stat_t); ok {
		_ = f.Chown(int(s.Uid), int(s.Gid)) // else it belongs to the user, as any new file
	}
}
