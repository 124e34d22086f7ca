-- When what a letter is made from was read: a batch reads it once, and makes its last letter minutes later. Null of a letter
-- made before: it was read when it was made.
ALTER TABLE letter ADD COLUMN read_at timestamptz;
