import { v7 as uuidv7 } from 'uuid';
import { everybodysDuty } from '../reports/one-game.ts';
import type { Measurement } from './measurement.ts';
import {
  atWork,
  type ObserverAtWork,
  observersAtOnce,
  percentile,
  timed,
  together,
} from './observers-at-work.ts';

const rounds = 12;
const marksEach = 40;
/** Marks of each observer before the clock starts, either way: a server at work has its code compiled. */
const marksBefore = 60;
const positions = [
  'referee',
  'umpire',
  'head linesman',
  'line judge',
  'side judge',
  'field judge',
  'back judge',
];

/**
 * Saving a mark through the server by 20 observers at once, none pausing, beside the bare transaction that writes the
 * same two rows (the change and the observation) over connections of its own. The two take turns, in one run.
 */
export async function saveMark(): Promise<Measurement[]> {
  const { saved, bare } = await atWork(async ({ game, observers, bare: clients }) => {
    // Marks of one cell may not meet: both ways take the observer's next free one.
    const made = new Map<ObserverAtWork, number>();
    const next = (observer: ObserverAtWork) => {
      const number = made.get(observer) ?? 0;
      made.set(observer, number + 1);
      const position = positions[number % positions.length]!;
      return {
        position,
        personId: observer.crew[position]!,
        playId: observer.playIds[Math.floor(number / positions.length) % observer.playIds.length]!,
      };
    };
    const save = (at: number) => {
      const observer = observers[at]!;
      const { position, playId } = next(observer);
      const change = {
        kind: 'put mark',
        id: uuidv7(),
        basedOn: null,
        markId: uuidv7(),
        playId,
        position,
        dutyKey: everybodysDuty.key,
        finding: 'missed',
        comment: 'Turned away too early.',
      };
      return observer.post(`/api/reports/${observer.reportId}/changes`, { changes: [change] });
    };
    const write = (at: number) => {
      const observer = observers[at]!;
      const client = clients[at]!;
      const { position, playId, personId } = next(observer);
      const [changeId, markId] = [uuidv7(), uuidv7()];
      const content = JSON.stringify({ basedOn: null, markId, playId, position, finding: 'missed' });
      return timed(async () => {
        await client.query('BEGIN');
        await client.query(
          `INSERT INTO report_change (conference_id, report_id, id, made_by, kind, content, outcome)
           VALUES ($1, $2, $3, $4, 'put mark', $5, 'applied')`,
          [game.conferenceId, observer.reportId, changeId, observer.observerId, content],
        );
        await client.query(
          `INSERT INTO observation (conference_id, id, report_id, play_id, person_id, position, duty_key, finding,
                                    comment, change_id)
           VALUES ($1, $2, $3, $4, $5, $6, $7, 'missed', 'Turned away too early.', $8)`,
          [
            game.conferenceId,
            markId,
            observer.reportId,
            playId,
            personId,
            position,
            everybodysDuty.key,
            changeId,
          ],
        );
        await client.query('COMMIT');
      });
    };
    await together(marksBefore, save);
    await together(marksBefore, write);
    const all = { saved: [] as number[], bare: [] as number[] };
    for (let round = 0; round < rounds; round++) {
      all.bare.push(...(await together(marksEach / 2, write)));
      all.saved.push(...(await together(marksEach / 2, save)));
    }
    all.saved.sort((a, b) => a - b);
    all.bare.sort((a, b) => a - b);
    return all;
  });
  return [0.5, 0.99].map((share) => beside('save-mark: saving a mark', share, saved, bare));
}

export function beside(
  name: string,
  share: number,
  own: readonly number[],
  bare: readonly number[],
): Measurement {
  const [value, against] = [percentile(own, share) * 1000, percentile(bare, share) * 1000];
  return {
    name: `${name}, p${share * 100}, ${observersAtOnce} observers at once`,
    value,
    unit: 'ms',
    against: `the bare SQL transaction with the same writes, ${against.toFixed(2)} ms`,
    ratio: value / against,
  };
}
