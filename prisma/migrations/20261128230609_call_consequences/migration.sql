-- What a wrong or missed call cost. Null: not judged; it weighs what it did before.
ALTER TABLE observation
  ADD COLUMN consequence text CHECK (consequence IN ('none', 'yards', 'possession', 'score')),
  ADD CHECK (consequence IS NULL OR finding IN ('wrong call', 'missed foul'));

-- How many of not_met were judged to cost what.
ALTER TABLE opportunity_count
  ADD COLUMN cost_none       integer NOT NULL DEFAULT 0 CHECK (cost_none >= 0),
  ADD COLUMN cost_yards      integer NOT NULL DEFAULT 0 CHECK (cost_yards >= 0),
  ADD COLUMN cost_possession integer NOT NULL DEFAULT 0 CHECK (cost_possession >= 0),
  ADD COLUMN cost_score      integer NOT NULL DEFAULT 0 CHECK (cost_score >= 0),
  ADD CHECK (cost_none + cost_yards + cost_possession + cost_score <= not_met);

-- How many times its duty's weight a miss of each consequence costs; part of the version, as the duties' weights are.
ALTER TABLE rubric_version
  ADD COLUMN none_weight       double precision NOT NULL DEFAULT 1   CHECK (none_weight BETWEEN 0.1 AND 20),
  ADD COLUMN yards_weight      double precision NOT NULL DEFAULT 1.5 CHECK (yards_weight BETWEEN 0.1 AND 20),
  ADD COLUMN possession_weight double precision NOT NULL DEFAULT 2.5 CHECK (possession_weight BETWEEN 0.1 AND 20),
  ADD COLUMN score_weight      double precision NOT NULL DEFAULT 4   CHECK (score_weight BETWEEN 0.1 AND 20);
