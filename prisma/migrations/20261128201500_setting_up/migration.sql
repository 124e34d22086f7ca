-- What a conference says of itself first: the rules book it plays by, and how many officials usually work a game. A
-- new season starts with that crew size.
ALTER TABLE conference
  ADD COLUMN code text NOT NULL DEFAULT 'college' CHECK (code IN ('college', 'high school')),
  ADD COLUMN crew_size integer NOT NULL DEFAULT 8 CHECK (crew_size BETWEEN 4 AND 8),
  ADD COLUMN confirmed_at timestamptz;

-- Steps of setting up a season that no row can show to be done: somebody looked and said so, or left them out.
CREATE TABLE season_step (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  step          text NOT NULL CHECK (step IN ('rubric', 'crews', 'invitations', 'settings')),
  answer        text NOT NULL CHECK (answer IN ('confirmed', 'left out')),
  answered_at   timestamptz NOT NULL DEFAULT now(),
  answered_by   uuid,
  PRIMARY KEY (conference_id, season_id, step),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, answered_by) REFERENCES person (conference_id, id)
);

-- Whoever has reports already need not be asked.
UPDATE conference c SET confirmed_at = now(),
       crew_size = COALESCE((SELECT s.crew_size FROM season s WHERE s.conference_id = c.id
                              ORDER BY s.created_at DESC LIMIT 1), c.crew_size)
 WHERE EXISTS (SELECT FROM report r WHERE r.conference_id = c.id);
INSERT INTO season_step (conference_id, season_id, step, answer)
SELECT s.conference_id, s.id, step, 'confirmed'
  FROM season s CROSS JOIN unnest(ARRAY['rubric', 'crews', 'invitations', 'settings']) AS step
 WHERE EXISTS (SELECT FROM report r WHERE r.conference_id = s.conference_id AND r.season_id = s.id);
