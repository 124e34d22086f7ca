import type pg from 'pg';
import { z } from 'zod';
import { clockInWords, timecodeInWords } from '../../football/clock-words.ts';
import { foulsFromText, foulsToText } from '../../football/fouls.ts';
import { type Fact, facts, type Play, type PlayKind, playSchema } from '../../football/play.ts';
import {
  filmTimecode,
  gameClock,
  integer,
  laneSpellings,
  line,
  oneOf,
  position,
  sideOfLeft,
  text,
  yesOrNo,
} from '../csv/cells.ts';
import { type Column, type FileFormat, optional, required } from '../csv/format.ts';
import type { FileKind } from './file-kind.ts';
import { findGame, gamesByKey } from './references.ts';

/** The columns of `play` that hold a fact of their own; the other facts are in its `facts`. */
const ownColumns = ['kind', 'spot', 'quarter', 'clockSeconds', 'down', 'distance'] as const satisfies Fact[];
const isOwnColumn = (fact: Fact) => (ownColumns as readonly Fact[]).includes(fact);
const otherFacts = facts.filter((fact) => !isOwnColumn(fact));

/** `lineToGainInQuestion` is headed `line to gain in question`; the clock is written as a clock, not in seconds. */
function headingOf(fact: Fact): string {
  if (fact === 'clockSeconds') return 'clock';
  return fact.replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

const foulsCell = z.string().transform((value, context) => {
  let reason: string | undefined;
  try {
    const parsed = playSchema.shape.fouls.safeParse(foulsFromText(value));
    if (parsed.success) return parsed.data;
    reason = parsed.error.issues[0]?.message;
  } catch (error) {
    reason = (error as Error).message;
  }
  context.addIssue({ code: 'custom', message: `cannot be read: ${reason}` });
  return z.NEVER;
});

/** How people write the kinds of play, beside our own words for them. Common practice, no source. */
const kindSpellings: Readonly<Record<string, PlayKind>> = {
  rush: 'run',
  kickoff: 'free kick',
  'kick off': 'free kick',
  'field goal': 'place kick',
  'field goal attempt': 'place kick',
  'extra point': 'try',
  'two point try': 'try',
};

/** What a play may be, as JSON Schema: a form that can be read. */
const factSchemas = z.toJSONSchema(playSchema) as {
  properties: Partial<Record<Fact, { type?: string; enum?: string[]; minimum?: number; maximum?: number }>>;
  required: string[];
};

/** Makes a column of a fact from the fact's own schema, so that a new fact is a new column. */
function columnOf(fact: Fact): Column {
  const heading = headingOf(fact);
  if (fact === 'clockSeconds' || fact === 'clockAbout') {
    return optional(heading, gameClock, 'Write the time left in the quarter at the snap, such as 12:05.');
  }
  if (fact === 'fouls') {
    return optional(
      heading,
      foulsCell,
      'Write each foul as "holding / offense / umpire / accepted / 72 / live ball / 38" (everything after the team may be left out), several separated by semicolons; "none" if there was none.',
    );
  }
  const { type, enum: words, minimum: low = 0, maximum: high = 100 } = factSchemas.properties[fact]!;
  const isNeeded = factSchemas.required.includes(fact);
  const make = isNeeded ? required : optional;
  const orEmpty = isNeeded ? '' : ', or leave it empty if unknown';
  if (words) {
    const what = `Write one of: ${words.join(', ')}${orEmpty}.`;
    if (words.includes('middle'))
      return { ...make(heading, oneOf(words, laneSpellings), what), asking: sideOfLeft };
    if (fact === 'kind') return make(heading, oneOf(words, kindSpellings), what);
    if (words.includes('referee')) return make(heading, position, what);
    return make(heading, oneOf(words), what);
  }
  if (type === 'boolean') return make(heading, yesOrNo, `Write yes or no${orEmpty}.`);
  if (type === 'integer')
    return make(heading, integer(low, high), `Write a whole number, ${low} to ${high}${orEmpty}.`);
  throw new Error(`plays.csv does not know how to write the fact ${fact}.`);
}

const factColumns = Object.fromEntries(facts.map((fact) => [fact, columnOf(fact)])) as Record<Fact, Column>;

type PlayColumns = {
  game: Column<string>;
  number: Column<number>;
  filmSeconds: Column<number | null>;
  note: Column<string | null>;
  season: Column<string | null>;
} & Record<Fact, Column>;

export const playsFormat: FileFormat<PlayColumns> = {
  name: 'plays',
  purpose:
    'Play logs of any number of games: one line for each play. Facts left empty are unknown, and make no opportunity.',
  columns: {
    game: required('game', line(100), 'Write the game as in schedule.csv.'),
    number: required('play', integer(1, 9999), 'Number the plays of a game 1, 2, 3 and so on.'),
    ...factColumns,
    filmSeconds: optional(
      'film timecode',
      filmTimecode,
      'Write h:mm:ss from the start of the film, or leave it empty.',
    ),
    note: optional('note', text(2000), 'Write up to 2000 characters, or leave it empty.'),
    season: optional('season', line(100), 'Needed only when two seasons use the same game keys.'),
  },
  key: ['season', 'game', 'number'],
};

/** The cells of one play, for writing a file. */
export function playCells(play: Play): Partial<Record<Fact, string>> {
  const cells: Partial<Record<Fact, string>> = {};
  for (const fact of facts) {
    const value = play[fact];
    if (value === undefined) continue;
    if (fact === 'fouls') cells[fact] = foulsToText(play.fouls ?? []);
    else if (fact === 'clockSeconds' || fact === 'clockAbout') cells[fact] = clockInWords(play[fact] ?? 0);
    else cells[fact] = typeof value === 'boolean' ? (value ? 'yes' : 'no') : String(value);
  }
  return cells;
}

/** Seconds of a film as `h:mm:ss`, with all the decimals there are: read back, it is the same number. */
export function exactTimecode(seconds: number): string {
  const [whole = '0', fraction] = String(seconds).split('.');
  const clock = timecodeInWords(Number(whole));
  return fraction === undefined ? clock : `${clock}.${fraction}`;
}

const kind: FileKind<PlayColumns> = {
  format: playsFormat,
  staging: [
    { name: 'game_id', type: 'uuid' },
    { name: 'number', type: 'integer' },
    { name: 'kind', type: 'text' },
    { name: 'spot', type: 'integer' },
    { name: 'quarter', type: 'integer' },
    { name: 'clock_seconds', type: 'integer' },
    { name: 'down', type: 'integer' },
    { name: 'distance', type: 'integer' },
    { name: 'film_seconds', type: 'double precision' },
    { name: 'facts', type: 'jsonb' },
    { name: 'note', type: 'text' },
  ],
  unique: [
    {
      columns: ['game_id', 'number'],
      heading: 'play',
      shows: 'number',
      says: 'has the same play of the same game',
    },
  ],
  async open(client, conferenceId) {
    const games = await gamesByKey(client, conferenceId);
    return (row, tell) => {
      const game = findGame(games, row, tell);
      if (game === undefined) return undefined;
      const others: Record<string, unknown> = {};
      for (const fact of otherFacts) {
        if (row[fact] !== null) others[fact] = row[fact];
      }
      return [
        game,
        row.number,
        row.kind as string,
        row.spot as number,
        row.quarter as number | null,
        row.clockSeconds as number | null,
        row.down as number | null,
        row.distance as number | null,
        row.filmSeconds,
        others,
        row.note ?? '',
      ];
    };
  },
  async merge(client, conferenceId, present) {
    // Facts whose column the file leaves out stay as they are; an empty cell takes a fact away.
    const stays = (column: string, name: keyof PlayColumns) =>
      present.has(name) ? `s.${column}` : `p.${column}`;
    const next = {
      kind: 's.kind',
      spot: 's.spot',
      quarter: stays('quarter', 'quarter'),
      clock_seconds: stays('clock_seconds', 'clockSeconds'),
      down: stays('down', 'down'),
      distance: stays('distance', 'distance'),
      film_seconds: stays('film_seconds', 'filmSeconds'),
      facts: '((p.facts - $2::text[]) || s.facts)',
      note: stays('note', 'note'),
    };
    const columns = Object.keys(next).join(', ');
    const before = Object.keys(next)
      .map((column) => `p.${column}`)
      .join(', ');
    const after = Object.values(next).join(', ');
    const factsInFile = otherFacts.filter((fact) => present.has(fact));
    const changed = await gamesOf(
      client,
      `UPDATE play p SET (${columns}) = ROW (${after}), version = p.version + 1
         FROM staged s
        WHERE p.conference_id = $1 AND p.game_id = s.game_id AND p.number = s.number AND p.removed_at IS NULL
          AND (${before}) IS DISTINCT FROM (${after})
       RETURNING p.game_id`,
      [conferenceId, factsInFile],
    );
    const added = await gamesOf(
      client,
      `INSERT INTO play (conference_id, game_id, number, kind, spot, quarter, clock_seconds, down, distance,
                         film_seconds, facts, note)
       SELECT $1, game_id, number, kind, spot, quarter, clock_seconds, down, distance, film_seconds, facts, note
         FROM staged
       ON CONFLICT (conference_id, game_id, number) WHERE removed_at IS NULL DO NOTHING
       RETURNING game_id`,
      [conferenceId],
    );
    const playLogsChanged = [...new Set([...changed.games, ...added.games])];
    await client.query(
      `UPDATE game SET play_log_revision = play_log_revision + 1 WHERE conference_id = $1 AND id = ANY ($2::uuid[])`,
      [conferenceId, playLogsChanged],
    );
    return { added: added.rows, changed: changed.rows, playLogsChanged };
  },
};
/** Runs a statement that returns a `game_id` per row; the rows, and the games they are of. */
async function gamesOf(client: pg.ClientBase, sql: string, values: readonly unknown[]) {
  const { rows } = await client.query<{ game_id: string; count: number }>(
    `WITH touched AS (${sql}) SELECT game_id, count(*)::int AS count FROM touched GROUP BY game_id`,
    [...values],
  );
  return { rows: rows.reduce((sum, row) => sum + row.count, 0), games: rows.map((row) => row.game_id) };
}

export const plays = kind as unknown as FileKind;
