import { stringify } from 'csv-stringify/sync';
import { disarmed } from '../../imports/csv/formula.ts';
import { clock } from '../../web/format.ts';
import type { Edition, EditionSource } from '../edition.ts';
import type { EditionPlaces } from '../edition-places.ts';
import { type TimedPlay, timeline } from './timeline.ts';

type Cell = string | number;
type Column = readonly [name: string, of: (play: TimedPlay, source: EditionSource) => Cell];

const columns: readonly Column[] = [
  ['play', (play) => play.number],
  ['starts', (play) => clock(play.startsAt)],
  ['topic', (play) => play.topic],
  ['teaches', (play) => play.aspect],
  ['shown_as', (play) => play.showing],
  ['position', (play) => play.position],
  ['situation', (play) => play.situation],
  ['seconds_before_snap', (play) => play.secondsBefore],
  ['seconds_after_snap', (play) => play.secondsAfter],
  ['clip_seconds', (play) => play.clip],
  ['question', (play) => (play.question === '' ? 'no' : 'yes')],
  ['film', (play) => (play.hasFilm ? 'there' : 'lacking')],
  ['voice', (play) => play.voice],
];

/** Where to find it: for whoever cuts the film, not to be handed out. */
const sourceColumns: readonly Column[] = [
  ['week', (_, source) => source.week],
  ['game', (_, source) => source.game],
  ['play_of_game', (_, source) => source.playNumber],
  [
    'film_from_seconds',
    (play, { filmSeconds }) => (filmSeconds === null ? '' : Math.max(0, filmSeconds - play.secondsBefore)),
  ],
  [
    'film_to_seconds',
    (play, { filmSeconds }) => (filmSeconds === null ? '' : filmSeconds + play.secondsAfter),
  ],
  ['film_address', (_, source) => source.filmLink ?? ''],
];

/** The plays in order with their times as CSV (RFC 4180). @param sources also where each play is from */
export function cueSheetCsv(edition: Edition, places: EditionPlaces, withSources: boolean): string {
  const times: Column = ['times', () => (places.made ? 'as the reel was made' : 'as planned')];
  const all = [...columns, times, ...(withSources ? sourceColumns : [])];
  return stringify([
    all.map(([name]) => name),
    ...timeline(edition, places).map((play, at) =>
      all.map(([, of]) => {
        const cell = of(play, edition.sources[at]!);
        return typeof cell === 'string' ? disarmed(cell) : cell;
      }),
    ),
  ]);
}
