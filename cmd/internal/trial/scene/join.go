package scene

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

// Part is a stretch of a clip that Join makes of the built-in leap.
type Part string

// The parts, with what ffmpeg makes them of. Times are from the part's begin. The leap's widest moment is at 0.7103 s
// (leap.truth.json), and no frame of it is without the athlete.
const (
	EmptyHall Part = "[hall]loop=loop=-1:size=1,trim=duration=1,setpts=PTS-STARTPTS"
	WholeLeap Part = "[leap]null"
	LeapBack  Part = "[leap]reverse"                                                             // widest at 44/30 - 0.7103 = 0.7564 s
	SlowLeap  Part = "[leap]setpts=PTS*4/3,fps=30"                                               // widest at 0.7103 * 4/3 = 0.947 s
	LeapBegin Part = "[leap]trim=end=0.70"                                                       // until just before it is widest
	Standing  Part = "[leap]trim=end_frame=1,tpad=stop_mode=clone:stop_duration=1.5"             // the first frame
	TwoLeap   Part = "[leap]split[one][two];[two]reverse[back];[one][back]blend=all_mode=darken" // one each way: both are darker than the wall
)

// JoinedRate is the frame rate of what Join writes, in 1/s.
const JoinedRate = 30

// Join writes a clip of H.264, 960 x 540 pixels, of parts of the built-in leap one after the other: as if a camera had
// stood while several athletes came by. leap is the clip's bytes.
func Join(ctx context.Context, leap []byte, path string, parts ...Part) error {
	program, err := exec.LookPath("ffmpeg")
	if err != nil {
		return &noEncoder{err}
	}
	dir, err := os.MkdirTemp("", "joined-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	in := filepath.Join(dir, "leap.mp4")
	if err := os.WriteFile(in, leap, 0o600); err != nil {
		return err
	}
	var files []string
	for i, part := range parts {
		// the median over all of the leap is the empty hall
		source := fmt.Sprintf("[0:v]scale=960:540,fps=%d", JoinedRate)
		if strings.HasPrefix(string(part), "[hall]") {
			source += ",tmedian=radius=21,trim=end_frame=1"
		}
		name, rest, _ := strings.Cut(string(part), "]")
		graph := source + name + "];" + name + "]" + rest + ",format=yuv420p[out]"
		to := filepath.Join(dir, fmt.Sprintf("%d.mp4", i))
		if err := run(ctx, program, "-i", in, "-filter_complex", graph, "-map", "[out]", "-r", fmt.Sprint(JoinedRate), "-c:v", "libx264", "-crf", "18", "-preset", "veryfast", to); err != nil {
			return err
		}
		files = append(files, fmt.Sprintf("file '%s'\n", to))
	}
	list := filepath.Join(dir, "list")
	if err := os.WriteFile(list, []byte(strings.Join(files, "")), 0o600); err != nil {
		return err
	}
	return run(ctx, program, "-f", "concat", "-safe", "0", "-i", list, "-c", "copy", "-map_metadata", "-1", path)
}

func run(ctx context.Context, program string, args ...string) error {
	out, err := exec.CommandContext(ctx, program, append([]string{"-hide_banner", "-loglevel", "error", "-y"}, args...)...).CombinedOutput()
	if err != nil {
		return fmt.Errorf("scene: ffmpeg: %w: %s", err, out)
	}
	return nil
}
