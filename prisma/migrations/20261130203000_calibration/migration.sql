-- The same clips marked by several observers, blind to each other. It reads its season and changes nothing of it, so that
-- it can be done when the season is closed.
CREATE TABLE calibration_set (
  conference_id uuid NOT NULL,
  id            uuid NOT NULL DEFAULT gen_random_uuid(),
  season_id     uuid NOT NULL,
  title         text NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
  due_on        date,
  state         text NOT NULL DEFAULT 'draft' CHECK (state IN ('draft', 'open', 'closed')),
  made_by       uuid,
  made_at       timestamptz NOT NULL DEFAULT now(),
  opened_at     timestamptz,
  closed_at     timestamptz,
  PRIMARY KEY (conference_id, id),
  FOREIGN KEY (conference_id, season_id) REFERENCES season (conference_id, id),
  FOREIGN KEY (conference_id, made_by) REFERENCES person (conference_id, id),
  CHECK ((state = 'draft') = (opened_at IS NULL)),
  CHECK ((state = 'closed') = (closed_at IS NOT NULL))
);
CREATE INDEX calibration_set_season ON calibration_set (conference_id, season_id);

-- A play and the position to be watched on it. What is asked is settled when the set is opened.
CREATE TABLE calibration_clip (
  conference_id uuid NOT NULL,
  set_id        uuid NOT NULL,
  number        integer NOT NULL CHECK (number >= 1),
  play_id       uuid NOT NULL,
  position      text NOT NULL CHECK (position IN ('referee', 'umpire', 'center judge', 'head linesman', 'line judge', 'side judge', 'field judge', 'back judge')),
  -- [{ "key", "title", "expected", "gradedAs" }, ...]
  items         jsonb NOT NULL DEFAULT '[]' CHECK (jsonb_typeof(items) = 'array'),
  PRIMARY KEY (conference_id, set_id, number),
  UNIQUE (conference_id, set_id, play_id, position),
  FOREIGN KEY (conference_id, set_id) REFERENCES calibration_set (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, play_id) REFERENCES play (conference_id, id)
);
CREATE INDEX calibration_clip_of ON calibration_clip (conference_id, play_id);

CREATE TABLE calibration_observer (
  conference_id uuid NOT NULL,
  set_id        uuid NOT NULL,
  observer_id   uuid NOT NULL,
  reminded_at   timestamptz,
  done_at       timestamptz,
  PRIMARY KEY (conference_id, set_id, observer_id),
  FOREIGN KEY (conference_id, set_id) REFERENCES calibration_set (conference_id, id) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, observer_id) REFERENCES person (conference_id, id)
);
CREATE INDEX calibration_observer_of ON calibration_observer (conference_id, observer_id);

CREATE TABLE calibration_mark (
  conference_id uuid NOT NULL,
  set_id        uuid NOT NULL,
  number        integer NOT NULL,
  observer_id   uuid NOT NULL,
  item          text NOT NULL CHECK (length(item) BETWEEN 1 AND 100),
  finding       text NOT NULL CHECK (finding IN ('met', 'not met', 'not seen')),
  marked_at     timestamptz NOT NULL DEFAULT now(),
  PRIMARY KEY (conference_id, set_id, number, observer_id, item),
  FOREIGN KEY (conference_id, set_id, number) REFERENCES calibration_clip (conference_id, set_id, number) ON DELETE CASCADE,
  FOREIGN KEY (conference_id, set_id, observer_id) REFERENCES calibration_observer (conference_id, set_id, observer_id) ON DELETE CASCADE
);

-- Once handed in, or once the others' marks can be seen, a mark is what it was.
CREATE FUNCTION calibration_mark_is_open() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  mark calibration_mark := COALESCE(NEW, OLD);
BEGIN
  IF current_setting('crewmark.taking_away', true) = 'on' THEN RETURN mark; END IF;
  PERFORM FROM calibration_set s
     JOIN calibration_observer o ON o.conference_id = s.conference_id AND o.set_id = s.id AND o.observer_id = mark.observer_id
    WHERE s.conference_id = mark.conference_id AND s.id = mark.set_id AND s.state = 'open' AND o.done_at IS NULL;
  IF NOT FOUND THEN
    RAISE EXCEPTION 'marks of calibration set % cannot be changed any more', mark.set_id USING ERRCODE = 'restrict_violation';
  END IF;
  RETURN mark;
END
$$;
CREATE TRIGGER calibration_mark_handed_in BEFORE INSERT OR UPDATE OR DELETE ON calibration_mark FOR EACH ROW
  EXECUTE FUNCTION calibration_mark_is_open();
