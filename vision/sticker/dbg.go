package sticker

import (
	"fmt"
	"os"
)

var debugOn = os.Getenv("STDBG") != ""

func dbg(format string, args ...any) {
	if debugOn {
		fmt.Printf(format+"\n", args...)
	}
}
