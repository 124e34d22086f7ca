/** SQL: the rows of a query as a list in JSON, for a column of one row. */
export const listOf = (query: string): string =>
  `(SELECT coalesce(jsonb_agg(to_jsonb(x)), '[]') FROM (${query}) x)`;

/** An instant as PostgreSQL writes it in JSON. */
export const instant = (text: Date | string): Date => new Date(text);

/** A row read as JSON with these of its fields made instants; null stays null. */
export function instants<Row extends object>(row: Row, ...fields: (keyof Row)[]): Row {
  const made = { ...row };
  for (const field of fields) {
    const text = row[field] as Date | string | null;
    made[field] = (text === null ? null : instant(text)) as Row[typeof field];
  }
  return made;
}
