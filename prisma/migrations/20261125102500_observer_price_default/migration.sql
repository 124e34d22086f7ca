-- Information is priced by share of what is not known, no longer by grade point: seasons differ in spread.
ALTER TABLE observer_plan_setting ALTER COLUMN price_information SET DEFAULT 120;
