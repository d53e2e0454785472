// Package background keeps the terminal from being asked for its background colour while
// the program starts, and decides between light and dark without asking.
//
// bubbletea v1 asks in its init function, and a terminal that does not answer holds the
// first screen up for five seconds. The question is not put to terminals that call
// themselves "dumb", so this package does that for the length of the package
// initialisation, and Restore, called by an init function that runs after bubbletea's,
// puts TERM back.
//
// That this package comes first follows from the order the language fixes ("Package
// initialization" in the Go specification: of the packages whose imports are ready, the
// first by import path). It imports os alone, so it is ready as soon as os is. Its path
// sorts before text/template, which needs os too, and which the asking code
// (termenv, under lipgloss, under bubbletea) imports. It must import nothing else.
package background

import "os"

const termName = "TERM"

// earlier is TERM as it was found. Package state is needed here, because the work is
// done between two init functions.
var earlier = hide()

type termValue struct {
	value    string
	set      bool
	restored bool
}

func hide() termValue {
	v, set := os.LookupEnv(termName)
	// An error would mean that the environment cannot be changed; the program then
	// starts late in such a terminal and is otherwise right.
	_ = os.Setenv(termName, "dumb")
	return termValue{value: v, set: set}
}

// Restore puts TERM back as it was found. Only the first call does anything.
func Restore() {
	if earlier.restored {
		return
	}
	earlier.restored = true
	if earlier.set {
		_ = os.Setenv(termName, earlier.value)
		return
	}
	_ = os.Unsetenv(termName)
}

// Variable is the environment variable that says "light" or "dark".
const Variable = "HOPCARD_BACKGROUND"

// IsLight decides from the environment: Variable if it says light or dark, else the
// background colour that some terminals leave in COLORFGBG (7 and 15 are the white ones
// of the sixteen), else dark.
func IsLight(getenv func(string) string) bool {
	switch getenv(Variable) {
	case "light":
		return true
	case "dark":
		return false
	}
	colours := getenv("COLORFGBG")
	for i := len(colours) - 1; i >= 0; i-- {
		if colours[i] == ';' {
			back := colours[i+1:]
			return back == "7" || back == "15"
		}
	}
	return false
}
