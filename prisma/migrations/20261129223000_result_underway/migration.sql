-- Who finds a result of a season just now, so that nobody else does. A lease and not a lock of the session: behind a
-- pooler a lock is taken on one connection and let go on another, which leaves it there for good.
CREATE TABLE result_underway (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  kind          text NOT NULL,
  -- Of one attempt.
  run           uuid NOT NULL,
  -- Put off while the attempt lives; after it anybody may begin.
  until         timestamptz NOT NULL,
  PRIMARY KEY (conference_id, season_id, kind),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE
);
