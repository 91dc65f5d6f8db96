package record

import (
	"fmt"

	"ecart/cmd/internal/change"
	"ecart/cmd/internal/cli/terminal"
	"ecart/cmd/internal/desk"
	"ecart/cmd/internal/fault"
	"ecart/geometry/uncertainty"
)

// All that 'ecart repeat' says of its own stands in this file.

const (
	repeatShort = "how well a rater repeats: the same frames marked again"
	repeatLong  = `Says how well points are placed, from frames that were marked again by the same
rater or by another: in pixels and, with a measure, in degrees: the standard
error of measurement, the smallest change that is real between two readings, and
how two raters, or two rounds of one, agree (Bland-Altman).

A take with its marks files, all by one rater, or a list. The list is a CSV file
with a line for each time that a frame was marked:

  take,frame,rater,marks
  leap.mp4,43,Iris,iris/leap-1.json
  leap.mp4,43,Iris,iris/leap-2.json
  leap.mp4,43,Noor,noor/leap.json

Commas, semicolons or tabs part the columns. "frame" may be left out: the marks
files say it. Paths are from the list's folder. A marks file in which each
landmark was placed n times counts as n markings.

Mark a frame again on another day, without seeing the marks of before. A dozen
frames of several athletes, twice each, say more than one frame a dozen times.
With --keep the rater's figure goes into the journal, and 'ecart read --rater
NAME' uses it from then on.`
	repeatExample = `  ecart repeat leap.mp4 first.json again.json third.json \
      --measure hip-split --rater Iris --keep
  ecart repeat raters.csv --measure hip-split --figure raters.svg`

	repeatFlagMeasure = "the measure `NAME`, to have the angle too; else pixels only"
	repeatFlagLeg     = "what stands for the leg: `PART` is whole (to the ankle, as is usual) or thigh (to the knee)"
	repeatFlagSide    = "whose marks count where several sides are marked: `SIDE` is left, right, front or back"
	repeatFlagFacing  = "the way the chest faces, the same `WAY` in all pictures; else that of the marks files"
	repeatFlagRater   = "who marked: `NAME`; of a list, only that rater's lines count"
	repeatFlagKeep    = "put the rater's figure into the journal, a list's raters' each"
	repeatFlagFigure  = "draw how two raters, or two rounds of one, agree into `FILE`, which ends in .png or .svg"
	repeatFlagJSON    = "print it as JSON (" + desk.RepeatSchema + "), in full precision"
)

const (
	wordsPlacing    = "placing a point (one sd, each axis)"
	wordsPixels     = "%s px (%s to %s)"
	wordsOverRaters = "all"
	wordsApart      = "between raters"
	wordsAngles     = "the angle, from marking alone"
	wordsAgain      = "%s again"
	wordsSameRater  = "same rater"
	wordsAnyRater   = "any rater"
	wordsSEM        = "standard error %s° (%s to %s)"
	wordsSmallest   = "a change under %s° (%s to %s) could not be told from none"
	wordsICC        = "intraclass correlation of one reading: %.3f"
	wordsAgree      = "%s against %s, %s: mean difference %s; 95 of 100 differences between %s° and %s°"
	wordsKept       = "kept in the journal: %s; 'ecart read --rater NAME' uses it"
	wordsKeep       = "--keep puts the figure into the journal, for 'ecart read --rater NAME'"
)

func repeatKind(r *desk.Repeat) string {
	return fmt.Sprintf("%s, %s, %s; pictures of %s", desk.Count(r.Frames, "frame"), desk.Count(len(r.Raters), "rater"), desk.Count(r.Markings, "marking"), terminal.Held(fmt.Sprint(r.LongSidePx, " px")))
}

// spreadWords returns a standard deviation with its interval, rounded like an uncertainty.
func spreadWords(format string, v float64, interval [2]float64) string {
	_, a := uncertainty.Format(0, v)
	lo, _ := uncertainty.Format(interval[0], v)
	hi, _ := uncertainty.Format(interval[1], v)
	return fmt.Sprintf(format, a, lo, hi)
}

func agreeWords(a *desk.MarkedTwice) string {
	u := terminal.Half(a.MeanInterval)
	lo, _ := uncertainty.Format(a.LimitsDeg[0], u)
	hi, _ := uncertainty.Format(a.LimitsDeg[1], u)
	return fmt.Sprintf(wordsAgree, a.First, a.Second, desk.Count(len(a.Differences), "frame"), desk.SignedPlusMinus(a.MeanDeg, u), lo, hi)
}

func noMarkings(take string) error {
	return fault.New(fmt.Sprintf("no marks files were given for %q", take), "name those of one rater behind the take, or give a list that ends in .csv; 'ecart repeat --help' shows its form")
}

func listAndMore(args []string) error {
	return fault.New(fmt.Sprintf("the list %q names all its files, and %q was given too", args[0], args[1]), "leave one of them out")
}

func nobodyToKeep() error {
	return fault.New("--keep was given without a rater", "say who marked: --rater NAME")
}

func figureOfNothing() error {
	return fault.New("--figure draws angles, and no measure was named", "give --measure NAME")
}

func nothingToDraw() error {
	return fault.New("there are not three frames that two raters marked, or one rater twice: nothing can be drawn", "mark more frames, or leave --figure out")
}

// errorWords returns a standard error of measurement and the smallest real change.
func errorWords(e *change.Error) [2]string {
	return [2]string{spreadWords(wordsSEM, e.SEM.SD, e.SEM.Interval), spreadWords(wordsSmallest, e.SmallestRealDeg, e.SmallestInterval)}
}
