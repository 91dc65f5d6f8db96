package desk

import (
	"errors"
	"io"
	"strconv"
	"strings"

	"golang.org/x/text/language"
	"golang.org/x/text/message"

	"ecart/cmd/internal/output"
	"ecart/cmd/internal/quiz"
)

// WriteAnswers writes an empty answer list as the spreadsheets of the place open one:
// parted by semicolons where a comma stands in numbers.
func WriteAnswers(w io.Writer, k *quiz.Key, tag language.Tag) error {
	comma := ','
	if strings.Contains(message.NewPrinter(tag).Sprintf("%.1f", 0.5), ",") {
		comma = ';'
	}
	c, err := output.NewCSV(w, comma, false)
	if err != nil {
		return err
	}
	err = c.Write("question", "band", "quiz")
	for i := range k.Questions {
		err = errors.Join(err, c.Write(strconv.Itoa(i+1), "", k.Quiz))
	}
	return errors.Join(err, c.Flush())
}
