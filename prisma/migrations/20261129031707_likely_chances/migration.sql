-- How many chances the plays that leave a duty open probably hold: what decides whether the duty counts.
ALTER TABLE opportunity_count
  DROP COLUMN decided,
  ADD COLUMN likely double precision NOT NULL DEFAULT 0 CHECK (likely >= 0);
