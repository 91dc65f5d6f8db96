-- What somebody wanted to remember of a take, in their own words.
-- Whoever changes this file breaks every journal there is: add 3.sql instead.

ALTER TABLE reading ADD COLUMN note TEXT NOT NULL DEFAULT '';
