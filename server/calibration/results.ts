import type { Queryable } from '../database/transaction.ts';
import { type Panel, panelOf } from '../grading/agreement/panel.ts';
import type { CalibrationSet } from './calibration.ts';
import { readPanelMarks } from './stores/mark-store.ts';

/** How a closed set's panel agrees, of those who handed in. Null before it is closed: until then all are blind. */
export async function readPanel(
  db: Queryable,
  conferenceId: string,
  set: CalibrationSet,
): Promise<Panel | null> {
  if (set.state !== 'closed') return null;
  const marks = await readPanelMarks(db, conferenceId, set.id);
  return panelOf(
    marks.map(({ number, item, observerId, finding }) => ({
      clip: number,
      duty: item,
      observer: observerId,
      finding,
    })),
  );
}

/** Titles of what was asked, by its key. */
export const titlesOf = ({ clips }: CalibrationSet): ReadonlyMap<string, string> =>
  new Map(clips.flatMap(({ items }) => items.map(({ key, title }) => [key, title])));
