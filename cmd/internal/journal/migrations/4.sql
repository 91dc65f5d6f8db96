-- The position of the body, where it is not the measure's usual one, and the condition
-- swung. The list of conditions stands in a CHECK, which SQLite cannot change: the table is
-- made anew, and with it those that refer to it.
-- Whoever changes this file breaks every journal there is: add 5.sql instead.

CREATE TABLE reading_new (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  uid        TEXT NOT NULL UNIQUE, -- of the take, frame, measure and marks
  session_id INTEGER NOT NULL REFERENCES session (id) ON DELETE CASCADE,
  kept_at    TEXT NOT NULL,
  state      TEXT NOT NULL CHECK (state IN ('cold', 'warm', 'after', 'unknown')),
  condition  TEXT NOT NULL CHECK (condition IN ('passive', 'active', 'in-skill', 'swung', 'unknown')),
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
  budget     TEXT NOT NULL CHECK (json_valid(budget)), -- source: standard uncertainty
  note       TEXT NOT NULL DEFAULT '',
  variant    TEXT NOT NULL DEFAULT '' -- the position; '' is the measure's usual one
) STRICT;

INSERT INTO reading_new
SELECT id, uid, session_id, kept_at, state, condition, side, rater, setup, lens, tool, take_name, take_sha256, frame, time_s, width_px, height_px,
 measure, lines, rulebook, skill, asked_deg, at_most, angle_deg, standard_uncertainty_deg, expanded_uncertainty_deg, coverage, low_deg, high_deg,
 decision, meets_probability, budget, note, ''
FROM reading;

CREATE TABLE whole_new (
  reading_id INTEGER PRIMARY KEY REFERENCES reading_new (id) ON DELETE CASCADE,
  marks      TEXT NOT NULL CHECK (json_valid(marks)),
  request    TEXT NOT NULL CHECK (json_valid(request)),
  reading    TEXT NOT NULL CHECK (json_valid(reading))
) STRICT;

INSERT INTO whole_new SELECT reading_id, marks, request, reading FROM whole;

CREATE TABLE former_new (
  id          INTEGER PRIMARY KEY AUTOINCREMENT,
  reading_id  INTEGER NOT NULL REFERENCES reading_new (id) ON DELETE CASCADE,
  tool        TEXT NOT NULL,
  replaced_at TEXT NOT NULL,
  reading     TEXT NOT NULL CHECK (json_valid(reading))
) STRICT;

INSERT INTO former_new SELECT id, reading_id, tool, replaced_at, reading FROM former;

CREATE TABLE checksum_new (
  reading_id INTEGER PRIMARY KEY REFERENCES reading_new (id) ON DELETE CASCADE,
  filing     TEXT NOT NULL, -- of the row in reading, with the day and label of its session
  whole      TEXT NOT NULL  -- of the row in whole, with those in former
) STRICT;

-- A filing that is as it was kept gets its new sum. A damaged one keeps the old sum, so that
-- it stays known as damaged.
INSERT INTO checksum_new (reading_id, filing, whole)
SELECT c.reading_id,
 CASE c.filing WHEN journal_sum(r.uid, s.day, s.label, r.state, r.condition, r.side, r.rater, r.setup, r.note, r.lens, r.tool, r.kept_at,
  r.take_name, r.take_sha256, r.frame, r.time_s, r.width_px, r.height_px, r.measure, r.lines, r.rulebook, r.skill, r.asked_deg, r.at_most,
  r.angle_deg, r.standard_uncertainty_deg, r.expanded_uncertainty_deg, r.coverage, r.low_deg, r.high_deg, r.decision, r.meets_probability, r.budget)
 THEN journal_sum(r.uid, s.day, s.label, r.state, r.condition, r.side, r.rater, r.setup, r.note, r.lens, r.tool, r.kept_at,
  r.take_name, r.take_sha256, r.frame, r.time_s, r.width_px, r.height_px, r.measure, r.lines, r.rulebook, r.skill, r.asked_deg, r.at_most,
  r.angle_deg, r.standard_uncertainty_deg, r.expanded_uncertainty_deg, r.coverage, r.low_deg, r.high_deg, r.decision, r.meets_probability, r.budget, '')
 ELSE c.filing END,
 c.whole
FROM checksum c JOIN reading r ON r.id = c.reading_id JOIN session s ON s.id = r.session_id;

-- A number that was given once is not given again, also where its reading was erased.
DELETE FROM sqlite_sequence WHERE name IN ('reading_new', 'former_new');
INSERT INTO sqlite_sequence (name, seq) SELECT name || '_new', seq FROM sqlite_sequence WHERE name IN ('reading', 'former');

DROP TABLE checksum;
DROP TABLE former;
DROP TABLE whole;
DROP TABLE reading;
ALTER TABLE reading_new RENAME TO reading;
ALTER TABLE whole_new RENAME TO whole;
ALTER TABLE former_new RENAME TO former;
ALTER TABLE checksum_new RENAME TO checksum;

CREATE INDEX reading_session ON reading (session_id);
CREATE INDEX reading_take ON reading (take_sha256);
CREATE INDEX former_reading ON former (reading_id);
