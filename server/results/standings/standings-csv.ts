import type { PersonName } from '../../accounts/people-names.ts';
import { fullName } from '../../accounts/people-names.ts';
import { knownInterval } from '../../grading/adjusted-grade.ts';
import type { Detection, ObserverDetection } from '../../grading/agreement/detection.ts';
import { tableCsv } from '../../web/csv-file.ts';
import { keennessWords, strictnessWords } from '../detection/detection-words.ts';
import type { CurrentStandings } from './season-standings.ts';
import { observerSeverityWords } from './severity-words.ts';

type People = ReadonlyMap<string, PersonName>;

const nameOf = (people: People, id: string) => {
  const person = people.get(id);
  return person ? fullName(person) : '';
};
const places = (value: number | null | undefined, digits: number) =>
  value === null || value === undefined ? '' : value.toFixed(digits);

/** May be below 0, so it stays a number: as text it would be disarmed as a formula is, and be none to a spreadsheet. */
export const signedPlaces = (value: number, digits: number): number => Number(value.toFixed(digits));

const write = (rows: Record<string, string | number>[], columns: string[]) =>
  tableCsv(
    columns,
    rows.map((row) => columns.map((column) => row[column] ?? '')),
  );

/** Every position's standings as one table (RFC 4180). */
export function standingsCsv({ lines, week, by, model }: CurrentStandings, people: People): string {
  return write(
    lines.map((line) => ({
      position: line.position,
      'graded by': by,
      model: model.used,
      rank: line.rank?.place ?? '',
      tied: line.rank ? (line.rank.tied ? 'yes' : 'no') : '',
      official: nameOf(people, line.personId),
      'adjusted grade': places(line.adjusted?.grade, 2),
      'standard error': knownInterval(line.adjusted) ? places(line.adjusted?.standardError, 2) : '',
      '90% low': places(knownInterval(line.adjusted)?.low, 2),
      '90% high': places(knownInterval(line.adjusted)?.high, 2),
      reliability: places(line.adjusted?.reliability, 3),
      'raw grade': places(line.raw, 2),
      games: line.games,
      opportunities: line.opportunities,
      misses: line.misses,
      'median rank': line.rank?.median ?? '',
      'rank 90% low': line.rank?.low ?? '',
      'rank 90% high': line.rank?.high ?? '',
      'chance of a place': places(line.placeChance, 3),
      'comparable group': line.group + 1,
      'rank the week before': line.before?.place ?? '',
      'through week': week ?? '',
      'not ranked because': line.unrankedReason ?? '',
    })),
    [
      'position',
      'graded by',
      'model',
      'rank',
      'tied',
      'official',
      'adjusted grade',
      'standard error',
      '90% low',
      '90% high',
      'reliability',
      'raw grade',
      'games',
      'opportunities',
      'misses',
      'median rank',
      'rank 90% low',
      'rank 90% high',
      'chance of a place',
      'comparable group',
      'rank the week before',
      'through week',
      'not ranked because',
    ],
  );
}

/** Observers' severity as a table, for the coordinator. */
export function severityCsv({ observers }: CurrentStandings, detection: Detection, people: People): string {
  const detectionOf = new Map(detection.observers.map((row) => [row.observer, row]));
  return write(
    observers.map((row) => ({
      observer: nameOf(people, row.observer),
      games: row.games,
      'official reports': row.rows,
      'points from the others': row.effect === null ? '' : signedPlaces(row.effect, 2),
      '90% low': row.effect === null ? '' : signedPlaces(row.low, 2),
      '90% high': row.effect === null ? '' : signedPlaces(row.high, 2),
      meaning: observerSeverityWords(row),
      'comparable group': row.group + 1,
      ...detectionColumns(detectionOf.get(row.observer)),
    })),
    [
      'observer',
      'games',
      'official reports',
      'points from the others',
      '90% low',
      '90% high',
      'meaning',
      'comparable group',
      'games with another observer',
      'share of misses seen',
      'seen 95% low',
      'seen 95% high',
      'keenness',
      'strictness',
    ],
  );
}

const detectionColumns = (row: ObserverDetection | undefined) => ({
  'games with another observer': row?.games ?? 0,
  'share of misses seen': places(row?.seen?.value, 3),
  'seen 95% low': places(row?.seen?.low, 3),
  'seen 95% high': places(row?.seen?.high, 3),
  keenness: keennessWords(row),
  strictness: strictnessWords(row),
});
