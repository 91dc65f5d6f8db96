package cli

import (
	"image"
	"io"

	"golang.org/x/text/language"

	"ecart/cmd/internal/figure"
	"ecart/cmd/internal/reading"
	"ecart/cmd/internal/rulebook"
	"ecart/cmd/internal/sheet"
)

// pageSheet makes the page's sheets. A parent's has the head covered.
func pageSheet(lib *rulebook.Library) func(io.Writer, image.Image, *reading.Reading, *reading.Marks, string, string) error {
	return func(w io.Writer, img image.Image, r *reading.Reading, marks *reading.Marks, who, reader string) error {
		in := sheet.Input{Reading: r, Picture: img, Who: who, Level: marks.Level}
		if sheet.Audience(reader) == sheet.Parent {
			c, err := figure.HeadCover(marks.Marks, r.Measure)
			if err != nil {
				return &inputError{"a parent's sheet has the head covered, and the marks do not tell where it is", "place the shoulder and the hip too, or make it with 'ecart sheet --cover x,y,r'"}
			}
			in.Covers = []figure.Cover{c}
		}
		if r.Skill != nil {
			if k, err := lib.Skill(r.Skill.Rulebook + "/" + r.Skill.Name); err == nil && sameFigures(r, k) {
				in.Rule = &k
			}
		}
		return sheet.Write(w, in, sheet.Options{For: sheet.Audience(reader), Locale: language.English})
	}
}
