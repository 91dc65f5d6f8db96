package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// onDisk mounts a disk of 20 MB in a namespace that ends with the script, copies the
// template there, fills the disk except for some bytes, runs the program, removes the
// filling and copies all files out. $1 mount point, $2 template, $3 result, $4 bytes to
// leave free; then the program.
const onDisk = `set -e
disk=$1 from=$2 out=$3 free=$4; shift 4
mount -t tmpfs -o size=20m tmpfs "$disk"
cp -a "$from/." "$disk/"
mkdir -p "$disk/user/home" "$disk/user/tmp"
left=$(($(df --output=avail -B1 "$disk" | tail -1) - free))
[ $left -le 0 ] || head -c $left /dev/zero >"$disk/filler"
cd "$disk"
set +e
"$@" >"$out/stdout" 2>"$out/stderr" </dev/null
echo $? >"$out/code"
rm -f filler
mkdir "$out/after" && cp -a "$disk/." "$out/after/"`

// inNamespace returns the command that runs another with permission to mount, as root or
// in a user namespace.
func inNamespace() ([]string, error) {
	for _, how := range [][]string{{"unshare", "-m"}, {"unshare", "-r", "-m"}} {
		probe := append(append([]string{}, how...), "sh", "-c", "mount -t tmpfs -o size=1m tmpfs /mnt")
		if exec.Command(probe[0], probe[1:]...).Run() == nil {
			return how, nil
		}
	}
	return nil, errors.New("no right to mount a disk here")
}

// fullDisk runs every command that writes on a full disk. Where the machine gives no
// permission to mount one, the size of files is limited instead.
func fullDisk(_ context.Context, b *bench) (func(*attempt), int, error) {
	t, err := b.filled()
	if err != nil {
		return nil, 0, err
	}
	how, noMount := inNamespace()
	return func(c *attempt) {
		w := writerCommands[c.number%len(writerCommands)]
		if c.withoutNetwork(&w) {
			return
		}
		free := []int{0, 4096 * c.r.IntN(4), 4096 * c.r.IntN(64)}[c.number/len(writerCommands)%3]
		c.about = fmt.Sprintf("%s with %d kB free", w.name, free>>10)
		var e ended
		if noMount == nil {
			e, err = c.runOnDisk(t, how, w, free)
		} else {
			c.omit("%v: a limit on the size of files stands in for the full disk", noMount)
			c.about = fmt.Sprintf("%s with files of %d kB at most", w.name, free>>10)
			e, err = c.runLimited(t, w, free)
		}
		if err != nil {
			c.fault("the harness: %v", err)
			return
		}
		before := files(t.dir)
		c.checkEnd(e, 1)
		c.checkNoTemps("after the full disk")
		c.checkPartialTable(w, before)
		c.checkFiles(t, w, before)
		c.checkJournal(t, w, e)
		if e.code == 0 && w.writes == nil && w.name != "recompute" && fmt.Sprint(c.inJournal(c.live())) != fmt.Sprint(t.after[w.name].journal) {
			c.fault("%s: done, says exit code 0, and it is not", e.call)
		}
		// with free space again the same command succeeds
		if retry := c.run(order{env: w.environment(c.bench)}, w.args...); retry.code == 1 {
			c.fault("with room again: %s: %s", retry.call, firstLine(retry.errs, 200))
		}
	}, 0, nil
}

// runOnDisk runs the writer on the full disk and moves the files that it left there into
// the case's folder.
func (c *attempt) runOnDisk(t *template, how []string, w writer, free int) (ended, error) {
	e := ended{call: "ecart " + strings.Join(w.args, " ")}
	disk, out := filepath.Join(c.dir, "disk"), filepath.Join(c.dir, "result")
	if err := errors.Join(os.MkdirAll(disk, 0o755), os.MkdirAll(out, 0o755)); err != nil {
		return e, err
	}
	ctx, cancel := context.WithTimeout(c.ctx, maxWait)
	defer cancel()
	args := append(append(append([]string{}, how[1:]...), "sh", "-c", onDisk, "sh", disk, t.dir, out, strconv.Itoa(free), c.ecart), w.args...)
	cmd := exec.CommandContext(ctx, how[0], args...)
	cmd.Env = append(environment(disk), w.environment(c.bench)...)
	os.RemoveAll(filepath.Join(disk, "user"))
	cmd.WaitDelay = time.Second
	if text, err := cmd.CombinedOutput(); err != nil {
		return e, fmt.Errorf("%w: %s", err, firstLine(string(text), 200))
	}
	read := func(name string) string {
		data, _ := os.ReadFile(filepath.Join(out, name))
		return string(data)
	}
	e.out, e.errs = read("stdout"), read("stderr")
	e.code, _ = strconv.Atoi(strings.TrimSpace(read("code")))
	after := c.dir + "-after"
	err := errors.Join(os.Rename(filepath.Join(out, "after"), after), os.RemoveAll(c.dir), os.Rename(after, c.dir))
	os.RemoveAll(filepath.Join(c.dir, "user"))
	return e, err
}

// runLimited runs the writer with a limit on the size of any file.
func (c *attempt) runLimited(t *template, w writer, maxBytes int) (ended, error) {
	if err := t.copyTo(c.dir); err != nil {
		return ended{}, err
	}
	args := append([]string{"-c", `ulimit -f "$1"; shift; exec "$@"`, "sh", strconv.Itoa(maxBytes / 512), c.ecart}, w.args...)
	e := c.run(order{program: "/bin/sh", env: w.environment(c.bench)}, args...)
	e.call = "ecart " + strings.Join(w.args, " ")
	return e, nil
}
