package page_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// benchClip returns a clip of 1080p60 H.264 with a key frame every 250 pictures, made
// once and kept in the user's cache.
func benchClip(b *testing.B, n int) string {
	cache, err := os.UserCacheDir()
	require.NoError(b, err)
	dir := filepath.Join(cache, "ecart", "bench")
	require.NoError(b, os.MkdirAll(dir, 0o755))
	path := filepath.Join(dir, fmt.Sprintf("page-1080p60-250-%d.mp4", n))
	if _, err := os.Stat(path); err == nil {
		return path
	}
	part := filepath.Join(dir, "part-"+filepath.Base(path))
	out, err := exec.Command("ffmpeg", "-v", "error", "-y", "-f", "lavfi", "-i", fmt.Sprintf("testsrc2=s=1920x1080:r=60:d=20,noise=alls=8:allf=t:all_seed=%d", n+1),
		"-pix_fmt", "yuv420p", "-c:v", "libx264", "-preset", "veryfast", "-b:v", "12M", "-g", "250", "-keyint_min", "250", "-sc_threshold", "0", "-bf", "2", part).CombinedOutput()
	require.NoError(b, err, "%s", out)
	require.NoError(b, os.Rename(part, path))
	return path
}

// within reports the median, the 95th percentile and the largest of durations in
// milliseconds.
func within(b *testing.B, what string, ms []float64) {
	slices.Sort(ms)
	at := func(p float64) float64 { return ms[min(len(ms)-1, int(p*float64(len(ms))))] }
	b.ReportMetric(at(0.5), what+"-p50-ms")
	b.ReportMetric(at(0.95), what+"-p95-ms")
	b.ReportMetric(ms[len(ms)-1], what+"-max-ms")
}

// painted is a script that makes frame n the moment by fn and waits until a
// picture of it is on the print, at first of any sharpness, then sharp.
const painted = `(async () => {
	const print = document.getElementById("print"), strip = document.getElementById("strip");
	const go = %s;
	const out = { any: [], sharp: [] };
	for (const n of %s) {
		const t = performance.now();
		go(n, strip);
		const until = (done) => new Promise((yes) => { const look = () => done() ? yes(performance.now() - t) : requestAnimationFrame(look); look(); });
		const here = () => print.dataset.shown === String(n) && print.dataset.painted === String(n);
		out.any.push(await until(here));
		out.sharp.push(await until(() => here() && print.dataset.sharp === "yes"));
		await new Promise((yes) => setTimeout(yes, %d));
	}
	return out;
})()`

type times struct{ Any, Sharp []float64 }

func (w *window) times(goes string, frames []int, pause time.Duration) times {
	var out times
	for part := range slices.Chunk(frames, 10) { // each well within the timeout of a test
		t := get(w, chromedp.Evaluate[times](fmt.Sprintf(painted, goes, jsonOf(part), pause.Milliseconds()), chromedp.EvalAwaitPromise))
		out.Any, out.Sharp = append(out.Any, t.Any...), append(out.Sharp, t.Sharp...)
	}
	return out
}

// benchWindow opens a window with the benchmark's clip, of which the small pictures
// have been made in the background.
func benchWindow(b *testing.B) *window {
	w := start(b, b.TempDir()).open(laptop)
	w.drop(benchClip(b, 0))
	w.a.enter()
	last := "/takes/" + w.opened() + "/frames/1199/look"
	for end := time.Now().Add(5 * time.Minute); w.a.do("GET", last, nil).status != 200; time.Sleep(time.Second) {
		require.True(b, time.Now().Before(end), "the clip was not looked through in five minutes")
	}
	return w
}

const byKey = `(n, strip) => strip.dispatchEvent(new KeyboardEvent("keydown", { key: ".", bubbles: true }))`

const backByKey = `(n, strip) => strip.dispatchEvent(new KeyboardEvent("keydown", { key: ",", bubbles: true }))`

const byFinger = `(n, strip) => { strip.setPointerCapture = () => {}; const r = strip.getBoundingClientRect(); const x = r.left + r.width * n / 1199;
	for (const kind of ["pointerdown", "pointerup"]) strip.dispatchEvent(new PointerEvent(kind, { clientX: x, clientY: r.top + 5, pointerId: 1, bubbles: true })); }`

// BenchmarkStep steps on frame by frame, ten a second, beside the ffmpeg program
// that decodes as many frames and makes JPEGs of them, one process for all.
func BenchmarkStep(b *testing.B) {
	const steps = 120
	w := benchWindow(b)
	for _, way := range []struct {
		name, key  string
		from, step int
	}{{"on", byKey, 300, 1}, {"back", backByKey, 900, -1}} {
		b.Run(way.name, func(b *testing.B) {
			frames := make([]int, steps)
			for i := range frames {
				frames[i] = way.from + way.step*(i+1)
			}
			for b.Loop() {
				w.goTo(way.from)
				t := w.times(way.key, frames, 100*time.Millisecond)
				start := time.Now()
				out, err := exec.Command("ffmpeg", "-v", "error", "-ss", "5", "-i", benchClip(b, 0), "-frames:v", strconv.Itoa(steps), "-vf", "scale=960:-1", "-f", "image2pipe", "-c:v", "mjpeg", "-y", os.DevNull).CombinedOutput()
				require.NoError(b, err, "%s", out)
				each := time.Since(start).Seconds() * 1000 / steps
				within(b, "sharp", t.Sharp)
				b.ReportMetric(t.Sharp[len(t.Sharp)/2]/each, "times-ffmpeg")
			}
		})
	}
}

// BenchmarkJump goes anywhere in the clip, beside the ffmpeg program that seeks
// there and makes one JPEG.
func BenchmarkJump(b *testing.B) {
	w := benchWindow(b)
	for b.Loop() {
		var frames []int
		for i := range 60 {
			frames = append(frames, (i*7919+13)%1199/2*2+i%2)
		}
		t := w.times(byFinger, frames, 150*time.Millisecond)
		var theirs []float64
		for _, n := range frames[:20] {
			start := time.Now()
			out, err := exec.Command("ffmpeg", "-v", "error", "-ss", fmt.Sprintf("%.4f", float64(n)/60), "-i", benchClip(b, 0), "-frames:v", "1", "-vf", "scale=960:-1", "-f", "image2pipe", "-c:v", "mjpeg", "-y", os.DevNull).CombinedOutput()
			require.NoError(b, err, "%s", out)
			theirs = append(theirs, time.Since(start).Seconds()*1000)
		}
		within(b, "any", t.Any)
		within(b, "sharp", t.Sharp)
		within(b, "ffmpeg", theirs)
	}
}

// BenchmarkDrag drags a mark for three seconds at 120 moves a second and counts
// the angles that come back, beside bare requests to the same server one after
// the other.
func BenchmarkDrag(b *testing.B) {
	w := ready(b, b.TempDir(), laptop)
	w.place(asks...)
	w.read()
	for b.Loop() {
		n := get(w, chromedp.Evaluate[[2]float64](`(async () => {
			const stage = document.getElementById("stage"), h = document.querySelector('.handle[data-key="front-ankle"] i').getBoundingClientRect();
			const x = h.left + h.width / 2, y = h.top + h.height / 2;
			const send = (kind, dx, dy) => stage.dispatchEvent(new PointerEvent(kind, { clientX: x + dx, clientY: y + dy, pointerId: 1, pointerType: "pen", bubbles: true }));
			stage.setPointerCapture = () => {};
			send("pointerdown", 0, 0);
			const before = Number(document.getElementById("reading").dataset.quicks ?? 0);
			const t = performance.now();
			for (let i = 1; performance.now() - t < 3000; i++) {
				send("pointermove", 20 * Math.sin(i / 9), 20 * Math.cos(i / 9));
				await new Promise((yes) => setTimeout(yes, 8));
			}
			const readings = (Number(document.getElementById("reading").dataset.quicks) - before) / (performance.now() - t) * 1000;
			send("pointerup", 0, 0);
			const s = performance.now();
			let bare = 0;
			for (; performance.now() - s < 1000; bare++) await (await fetch("/takes/" + location.hash.slice(1) + "/work", { cache: "no-store" })).json();
			return [readings, bare];
		})()`, chromedp.EvalAwaitPromise))
		w.read()
		b.ReportMetric(n[0], "readings/s")
		b.ReportMetric(n[0]/n[1], "of-bare-requests")
	}
}

// BenchmarkOpen opens the page anew, with nothing in the browser's cache at first.
func BenchmarkOpen(b *testing.B) {
	a := start(b, b.TempDir())
	var ms []float64
	for b.Loop() {
		for range 5 {
			w := a.open(laptop)
			ms = append(ms, js[float64](w, `performance.getEntriesByName("ready")[0].startTime`))
			b.ReportMetric(js[float64](w, `performance.getEntriesByType("resource").filter((r) => /\.(js|css)$/.test(r.name)).reduce((s, r) => s + r.decodedBodySize, 0) / 1000`), "script-and-style-kB")
			chromedp.Cancel(w.ctx)
		}
	}
	within(b, "ready", ms)
}

// BenchmarkMemory opens three clips, shows many frames of each, and reports
// how much memory the server takes, beside the pictures that it holds at most.
func BenchmarkMemory(b *testing.B) {
	a := start(b, b.TempDir()).enter()
	var ids []string
	for n := range 3 {
		data, err := os.ReadFile(benchClip(b, n))
		require.NoError(b, err)
		ids = append(ids, a.upload(fmt.Sprintf("%d.mp4", n), data))
	}
	for b.Loop() {
		for i := range 40 {
			for _, id := range ids {
				require.Equal(b, 200, a.do("GET", fmt.Sprintf("/takes/%s/frames/%d?w=1280", id, (i*131)%1199), nil).status)
			}
		}
		for _, what := range []string{"VmRSS", "VmHWM"} {
			b.ReportMetric(memory(b, a.cmd.Process.Pid, what), what+"-MB")
		}
	}
}

// memory returns a figure of the process's status, in MB.
func memory(b *testing.B, pid int, what string) float64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	require.NoError(b, err)
	for line := range strings.Lines(string(data)) {
		if rest, ok := strings.CutPrefix(line, what+":"); ok {
			kb, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			require.NoError(b, err)
			return kb / 1000
		}
	}
	b.Fatalf("no %s of process %d", what, pid)
	return 0
}
