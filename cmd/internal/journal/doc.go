// Package journal keeps readings for months: one SQLite file with the athletes,
// the days their takes were made and every reading with all that is needed to
// make it again. It is the only place that knows SQL.
//
// A reading that was kept is on the disk when Keep returns, and stays whole if
// the program is killed at any moment. Several programs may use one journal at
// a time. Everything stays in the file and the two that SQLite puts beside it
// (-wal and -shm); the back-ups made before the file's form changes lie there too.
//
// Names may be pseudonyms. Erase takes an athlete out of the file's free pages
// and out of the back-ups; what the drive itself still holds of blocks that were
// overwritten is beyond any program's reach.
//
// Angles are in degrees, pixels as in package reading, days are the days on which
// takes were made. Errors that a person can act on have a Hint.
package journal
