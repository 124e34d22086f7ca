-- What an observer watched: {positions, stretches: [{from, to, positions}]}. Null: not said yet. Filed reports meant
-- everybody, and so does whoever looks at the film; those in the stadium are asked.
ALTER TABLE report ADD COLUMN watched jsonb CHECK (jsonb_typeof(watched) = 'object');
ALTER TABLE report DISABLE TRIGGER USER;
UPDATE report r
   SET watched = '{"positions": ["referee", "umpire", "center judge", "head linesman", "line judge", "side judge", "field judge", "back judge"], "stretches": []}'
 WHERE r.state <> 'draft'
    OR NOT EXISTS (SELECT FROM observer_assignment a
                    WHERE a.conference_id = r.conference_id AND a.game_id = r.game_id AND a.observer_id = r.observer_id
                      AND a.how = 'in person');
ALTER TABLE report ENABLE TRIGGER USER;

-- No mark makes a chance of its own: it says whether it counts, and if not, why. Null: its report was never filed.
ALTER TABLE observation ADD COLUMN standing text
  CHECK (standing IN ('counted', 'undecided', 'not owed', 'not watched', 'thin log'));
ALTER TABLE observation DISABLE TRIGGER USER;
UPDATE observation o SET standing = 'counted'
  FROM report r
 WHERE r.conference_id = o.conference_id AND r.id = o.report_id AND r.rubric_version_id IS NOT NULL
   AND o.removed_at IS NULL;
ALTER TABLE observation ENABLE TRIGGER USER;
ALTER TABLE observation DROP COLUMN adds_opportunity;

-- decided and undecided: on how many plays the log says whether the duty was owed. unwatched: chances on plays where
-- the position was not watched. set_aside: chances found (and misses among them) that do not count, because too little
-- is decided; opportunities and what is counted of them are 0 then.
ALTER TABLE opportunity_count
  DROP CONSTRAINT opportunity_count_opportunities_check,
  ADD CHECK (opportunities >= 0),
  ADD COLUMN decided           integer NOT NULL DEFAULT 0 CHECK (decided >= 0),
  ADD COLUMN undecided         integer NOT NULL DEFAULT 0 CHECK (undecided >= 0),
  ADD COLUMN unwatched         integer NOT NULL DEFAULT 0 CHECK (unwatched >= 0),
  ADD COLUMN set_aside         integer NOT NULL DEFAULT 0 CHECK (set_aside >= 0),
  ADD COLUMN set_aside_not_met integer NOT NULL DEFAULT 0 CHECK (set_aside_not_met >= 0),
  ADD CHECK (set_aside_not_met <= set_aside),
  ADD CHECK (opportunities = 0 OR set_aside = 0);

-- The least share of a position's plays on which the log must say whether a duty was owed, for the duty to count.
ALTER TABLE conference
  ADD COLUMN decided_share_least double precision NOT NULL DEFAULT 0.8 CHECK (decided_share_least BETWEEN 0 AND 1);
