-- Days are ISO 8601 dates, times are RFC 3339 in UTC, angles are degrees.
-- Whoever changes this file breaks every journal there is: add 2.sql instead.

CREATE TABLE athlete (
  id   INTEGER PRIMARY KEY AUTOINCREMENT,
  name TEXT NOT NULL CHECK (name <> ''),
  key  TEXT NOT NULL UNIQUE CHECK (key <> '') -- the name folded: Wren and WREN are one
) STRICT;

CREATE TABLE session (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  athlete_id INTEGER NOT NULL REFERENCES athlete (id) ON DELETE CASCADE,
  day        TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'), -- of the take
  label      TEXT NOT NULL DEFAULT '', -- tells two sessions of one day apart
  UNIQUE (athlete_id, day, label)
) STRICT;

-- What is listed and searched. The figures are those of the reading in whole.
CREATE TABLE reading (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  uid        TEXT NOT NULL UNIQUE, -- of the take, frame, measure and marks
  session_id INTEGER NOT NULL REFERENCES session (id) ON DELETE CASCADE,
  kept_at    TEXT NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('cold', 'warm', 'after', 'unknown')),
  condition  TEXT NOT NULL CHECK (condition IN ('passive', 'active', 'in-skill', 'unknown')),
  side       TEXT NOT NULL CHECK (side IN ('', 'left', 'right', 'front', 'back')),
  rater      TEXT NOT NULL,
  setup      TEXT NOT NULL,
  lens       TEXT NOT NULL, -- SHA-256 of the lens file, '' without one
  tool       TEXT NOT NULL,
  take_name  TEXT NOT NULL,
  take_sha256 TEXT NOT NULL,
  frame      INTEGER NOT NULL,
  time_s     REAL NOT NULL,
  width_px   INTEGER NOT NULL,
  height_px  INTEGER NOT NULL,
  measure    TEXT NOT NULL,
  lines      TEXT NOT NULL, -- the two lines, as hip>front-ankle|hip>back-ankle
  rulebook   TEXT NOT NULL,
  skill      TEXT NOT NULL,
  asked_deg  REAL,
  at_most    INTEGER NOT NULL,
  angle_deg  REAL NOT NULL,
  standard_uncertainty_deg REAL NOT NULL CHECK (standard_uncertainty_deg > 0),
  expanded_uncertainty_deg REAL NOT NULL,
  coverage   REAL NOT NULL,
  low_deg    REAL NOT NULL,
  high_deg   REAL NOT NULL,
  decision   TEXT NOT NULL,
  meets_probability REAL,
  budget     TEXT NOT NULL CHECK (json_valid(budget)) -- source: standard uncertainty
) STRICT;

CREATE INDEX reading_session ON reading (session_id);
CREATE INDEX reading_take ON reading (take_sha256);

-- All that is needed to make the reading again, in a table of its own so that
-- a list does not page through it.
CREATE TABLE whole (
  reading_id INTEGER PRIMARY KEY REFERENCES reading (id) ON DELETE CASCADE,
  marks      TEXT NOT NULL CHECK (json_valid(marks)),
  request    TEXT NOT NULL CHECK (json_valid(request)),
  reading    TEXT NOT NULL CHECK (json_valid(reading))
) STRICT;

-- What a reading said before it was made again by another version.
CREATE TABLE former (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  reading_id  INTEGER NOT NULL REFERENCES reading (id) ON DELETE CASCADE,
  tool        TEXT NOT NULL,
  replaced_at TEXT NOT NULL,
  reading     TEXT NOT NULL CHECK (json_valid(reading))
) STRICT;

CREATE INDEX former_reading ON former (reading_id);

-- How well somebody places marks, found by marking the same frames again.
CREATE TABLE rater (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  name    TEXT NOT NULL,
  key     TEXT NOT NULL UNIQUE,
  day     TEXT NOT NULL,
  sd_px   REAL NOT NULL CHECK (sd_px > 0), -- of one placement, each axis
  freedom REAL NOT NULL CHECK (freedom > 0),
  long_side_px INTEGER NOT NULL, -- of the pictures it was found on
  details TEXT NOT NULL CHECK (json_valid(details))
) STRICT;

-- Work that was begun and has to be finished, such as wiping free pages.
CREATE TABLE chore (name TEXT PRIMARY KEY) STRICT;
