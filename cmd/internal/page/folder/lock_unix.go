//go:build unix

package folder

import (
	"os"
	"syscall"
)

// hold locks the file for this process; the system releases it when the process
// ends, however it ends.
func hold(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) }
