package needs

import (
	"fmt"
	"os"
	"os/exec"
	"testing"
)

// namespaces are the ways to get a mount of one's own: root needs no user namespace,
// and a chroot or a container refuses one.
var namespaces = [][]string{
	{"unshare", "--mount"},
	{"unshare", "--user", "--map-root-user", "--mount"},
}

// SmallDisk is a command that sees an empty disk of size bytes (whole pages of 4 KiB)
// at dir. Nobody else sees the disk, and it ends with the command. Where no way to
// mount one is open, the test is listed as not run.
func SmallDisk(t testing.TB, dir string, size int, name string, args ...string) *exec.Cmd {
	t.Helper()
	script := fmt.Sprintf(`mount -t tmpfs -o size=%d none "$0" && exec "$@"`, size)
	for _, way := range namespaces {
		enter := append(way[1:len(way):len(way)], "sh", "-c", script, dir)
		if exec.Command(way[0], append(enter, "true")...).Run() == nil {
			return exec.Command(way[0], append(append(enter, name), args...)...)
		}
	}
	NotRun(t, "needs the right to mount a small disk, as root or in a user namespace")
	return nil
}

// Terminal says whether this machine gives pseudo-terminals.
func Terminal() bool {
	return exec.Command("script", "-qec", "true", os.DevNull).Run() == nil
}
