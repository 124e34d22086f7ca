-- The model that a season's standings are by may be fixed by the coordinator, for instance because the conference
-- announced it beforehand. NULL: the season's own games decide.
ALTER TABLE season ADD COLUMN fixed_model text CHECK (fixed_model IN ('linear', 'counts'));
