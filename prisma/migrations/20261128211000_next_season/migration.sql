-- Who of the conference's people does not serve in a season. Their account and what they were part of before stay.
CREATE TABLE season_departure (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  PRIMARY KEY (conference_id, season_id, person_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CALL read_only_when_closed('season_departure', 'season');

-- Who was asked when they can work in a season, and what they answered: the weeks they are away.
CREATE TABLE season_availability (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  asked_at      timestamptz NOT NULL DEFAULT now(),
  answered_at   timestamptz,
  note          text NOT NULL DEFAULT '' CHECK (length(note) <= 500),
  PRIMARY KEY (conference_id, season_id, person_id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, person_id) REFERENCES person (conference_id, id)
);
CALL read_only_when_closed('season_availability', 'season');

CREATE TABLE season_week_away (
  conference_id uuid NOT NULL,
  season_id     uuid NOT NULL,
  person_id     uuid NOT NULL,
  week          integer NOT NULL CHECK (week BETWEEN 0 AND 30),
  PRIMARY KEY (conference_id, season_id, person_id, week),
  FOREIGN KEY (conference_id, season_id, person_id)
    REFERENCES season_availability (conference_id, season_id, person_id) ON DELETE CASCADE
);
CALL read_only_when_closed('season_week_away', 'season');
