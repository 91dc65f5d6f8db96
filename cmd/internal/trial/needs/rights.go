package needs

import (
	"fmt"
	"os"
	"os/exec"
	"testing"
)

// namespaces are the commands that give a process mounts of its own: root needs no user
// namespace, and a chroot or a container refuses one.
var namespaces = [][]string{
	{"unshare", "--mount"},
	{"unshare", "--user", "--map-root-user", "--mount"},
}

// SmallDisk returns a command that sees an empty disk of size bytes (whole pages of 4 KiB)
// at dir. No other process sees the disk, and it ends with the command. Where none can be
// mounted, the test is listed as not run.
func SmallDisk(t testing.TB, dir string, size int, name string, args ...string) *exec.Cmd {
	t.Helper()
	script := fmt.Sprintf(`mount -t tmpfs -o size=%d none "$0" && exec "$@"`, size)
	for _, unshare := range namespaces {
		enter := append(unshare[1:len(unshare):len(unshare)], "sh", "-c", script, dir)
		if exec.Command(unshare[0], append(enter, "true")...).Run() == nil {
			return exec.Command(unshare[0], append(append(enter, name), args...)...)
		}
	}
	NotRun(t, "needs the right to mount a small disk, as root or in a user namespace")
	return nil
}

// Terminal reports whether this machine has pseudo-terminals.
func Terminal() bool {
	return exec.Command("script", "-qec", "true", os.DevNull).Run() == nil
}
