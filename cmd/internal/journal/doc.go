// Package journal stores readings over months in one SQLite file: the athletes, the days
// on which their takes were made, and every reading with all that is needed to make it
// again. It is the only package that uses SQL.
//
// A kept reading is on the disk when Keep returns, and stays complete if the program is
// killed at any moment. Several programs may use one journal at the same time. All data
// are in the file and the two that SQLite puts beside it (-wal and -shm), and in the
// back-ups made beside it before the file's form changes.
//
// Names may be pseudonyms. Erase removes an athlete also from the file's free pages and
// from the back-ups. A program cannot erase what the drive itself still holds of
// overwritten blocks.
//
// Angles are in degrees, pixels as in package reading, days are the days on which
// takes were made. Errors that a person can act on have a Hint.
package journal
