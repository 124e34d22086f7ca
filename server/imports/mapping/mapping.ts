import { z } from 'zod';
import { type Fact, facts } from '../../football/play.ts';

// How a play log from elsewhere is read: which of its columns holds which fact, and what its texts mean. Nothing is
// taken for granted of anybody's format; a mapping says everything, and says it once.

const heading = z.string().min(1).max(200);
const cellText = z.string().max(200);

/**
 * What texts of a column mean, by the text folded (`folded`): a value as plays.csv writes it, or empty for "unknown".
 * A text that stands nowhere here is read as plays.csv would read it.
 */
const meanings = z.record(cellText, cellText).default({});

/** How a file says a place along the field. The offense is the team that snaps or kicks. */
export const spotForms = {
  count: 'yards from the own goal line of the team with the ball, 0 to 100',
  'to the goal': 'yards to the goal line that the team with the ball attacks',
  'from the home goal line': "yards from the home team's goal line, 0 to 100",
  'signed, minus own': 'a yard line with a sign: minus is the own half, plus the other',
  'signed, minus theirs': "a yard line with a sign: minus is the opponent's half, plus the own",
  'side and line': 'a side and a yard line, in one column or in two',
} as const;
export type SpotForm = keyof typeof spotForms;

/** How a file says the game clock: `m:ss`, or plain seconds. */
export const clockForms = {
  'left in the quarter': 'time left in the quarter',
  'gone in the quarter': 'time gone in the quarter',
  'left in the half': 'time left in the half',
  'left in the game': 'time left in the game',
} as const;
export type ClockForm = keyof typeof clockForms;

const keysOf = <Key extends string>(object: Readonly<Record<Key, unknown>>) =>
  Object.keys(object) as [Key, ...Key[]];

/** Where a fact comes from. */
const sourceSchema = z.discriminatedUnion('from', [
  z.strictObject({ from: z.literal('column'), column: heading, values: meanings }),
  z.strictObject({ from: z.literal('fixed'), value: cellText.min(1) }),
  z.strictObject({
    from: z.literal('spot'),
    column: heading,
    as: z.enum(keysOf(spotForms)),
    side: heading.optional().describe('The column of the side, where it is one of its own.'),
    values: meanings,
  }),
  z.strictObject({
    from: z.literal('gained'),
    column: heading.describe(
      'Yards gained on a run or a caught pass: the ball was dead so far from the spot.',
    ),
    values: meanings,
  }),
  z
    .strictObject({ from: z.literal('usual') })
    .describe('Where a kickoff and a try usually are, by the code.'),
  z.strictObject({
    from: z.literal('clock'),
    column: heading,
    as: z.enum(keysOf(clockForms)),
    values: meanings,
  }),
  z.strictObject({
    from: z.literal('fouls'),
    column: heading,
    by: heading.optional().describe('The column of the team that committed the foul.'),
    outcome: heading.optional().describe('The column that says what came of it.'),
    values: meanings.describe('A foul\'s name, "as written", "none", or empty for unknown.'),
    outcomes: meanings,
  }),
]);
export type Source = z.infer<typeof sourceSchema>;

/** What a text for a team or a side means: either team by its part in the game or on the play, or one team for good. */
const sideMeanings = ['home', 'visitor', 'offense', 'defense'] as const;
export type SideMeaning = (typeof sideMeanings)[number];

const rowRule = z.strictObject({
  column: heading,
  /** `leave out` rows whose text is one of these, or take `only` those. */
  rule: z.enum(['leave out', 'only']),
  texts: z.array(cellText).max(200),
});
export type RowRule = z.infer<typeof rowRule>;

const sources = z.array(sourceSchema).min(1).max(4);

export const mappingSchema = z.strictObject({
  headings: z
    .int()
    .min(0)
    .max(30)
    .default(1)
    .describe('Which filled line holds the headings; 0: none does, and columns are named by their number.'),
  order: z
    .strictObject({
      by: z.enum(['file', 'file from the end', 'column']),
      column: heading.optional(),
    })
    .default({ by: 'file' }),
  rows: z.array(rowRule).max(4).default([]),
  facts: z
    .partialRecord(z.enum(facts as [Fact, ...Fact[]]), sources)
    .default({})
    .describe('For each fact its sources: the first that says something counts. No source: unknown.'),
  freeKicksNameReceiver: z
    .boolean()
    .default(false)
    .describe('On free kicks the column of the team with the ball names the team that receives.'),
  filmTime: heading.optional().describe('Column of the place in the film, as h:mm:ss or in seconds.'),
  note: heading.optional(),
  sides: z
    .record(cellText, z.union([z.enum(sideMeanings), z.uuid(), z.literal('')]))
    .default({})
    .describe(
      'What texts for teams and sides mean, by the text folded: a part in the game, or a team by its id.',
    ),
});
export type Mapping = z.infer<typeof mappingSchema>;

/** Capitals and spaces make no difference between texts of a column. */
export const folded = (text: string): string => text.trim().replace(/\s+/g, ' ').toLowerCase();

/** What a text was said to mean; undefined when nobody has said, also of a text such as `constructor`. */
export function meantBy<Meant>(meanings: Readonly<Record<string, Meant>>, text: string): Meant | undefined {
  const key = folded(text);
  return Object.hasOwn(meanings, key) ? meanings[key] : undefined;
}

/** Every column that a mapping reads. */
export function columnsUsed(mapping: Mapping): Set<string> {
  const used = new Set<string>();
  const use = (column: string | undefined) => column !== undefined && used.add(column);
  for (const list of Object.values(mapping.facts)) {
    for (const source of list ?? []) {
      if ('column' in source) use(source.column);
      if (source.from === 'spot') use(source.side);
      if (source.from === 'fouls') {
        use(source.by);
        use(source.outcome);
      }
    }
  }
  for (const rule of mapping.rows) use(rule.column);
  use(mapping.order.column);
  use(mapping.filmTime);
  use(mapping.note);
  return used;
}
