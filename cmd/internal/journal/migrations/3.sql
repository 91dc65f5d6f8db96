-- What each entry was when it was written, so that a changed digit is noticed.
-- Whoever changes this file breaks every journal there is: add 4.sql instead.

CREATE TABLE checksum (
  reading_id INTEGER PRIMARY KEY REFERENCES reading (id) ON DELETE CASCADE,
  filing     TEXT NOT NULL, -- of the row in reading, with the day and label of its session
  whole      TEXT NOT NULL  -- of the row in whole, with those in former
) STRICT;

INSERT INTO checksum (reading_id, filing, whole)
SELECT r.id,
 journal_sum(r.uid, s.day, s.label, r.state, r.condition, r.side, r.rater, r.setup, r.note, r.lens, r.tool, r.kept_at,
  r.take_name, r.take_sha256, r.frame, r.time_s, r.width_px, r.height_px, r.measure, r.lines, r.rulebook, r.skill, r.asked_deg, r.at_most,
  r.angle_deg, r.standard_uncertainty_deg, r.expanded_uncertainty_deg, r.coverage, r.low_deg, r.high_deg, r.decision, r.meets_probability, r.budget),
 journal_sum(r.uid, w.marks, w.request, w.reading,
  (SELECT json_group_array(json_object('tool', f.tool, 'replaced_at', f.replaced_at, 'reading', f.reading) ORDER BY f.id) FROM former f WHERE f.reading_id = r.id))
FROM reading r JOIN session s ON s.id = r.session_id JOIN whole w ON w.reading_id = r.id;
