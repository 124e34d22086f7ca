import type { Queryable } from '../database/transaction.ts';
import type { EditionContent, EditionCut } from '../programs/edition.ts';
import { contentOf } from '../programs/edition-content.ts';
import { readCuts } from '../programs/stores/cut-store.ts';
import { type CutOrLack, lacks, readDefaultCuts } from '../programs/stores/default-cuts.ts';
import { cutsOf, readEdition } from '../programs/stores/edition-store.ts';
import { readPlayFacts } from '../programs/stores/play-facts.ts';
import { readProgram } from '../programs/stores/program-rows.ts';
import { conflict } from '../web/problem.ts';
import { planReel } from './plan/plan-reel.ts';
import type { ReelPlan } from './plan/reel-plan.ts';

interface Shown {
  readonly content: EditionContent;
  readonly sources: readonly { readonly number: number; readonly playId: string; readonly gameId: string }[];
  readonly cuts: readonly EditionCut[];
}

/**
 * Everything that a reel will show, as it is now.
 * @param edition null for the program as it is
 * @throws Problem 404 without such a program or edition, 409 when the program has no play or one that its log lost
 */
export async function freezePlan(
  db: Queryable,
  conferenceId: string,
  programId: string,
  edition: number | null,
): Promise<ReelPlan> {
  const shown =
    edition === null
      ? await programNow(db, conferenceId, programId)
      : await readEdition(db, conferenceId, programId, edition);
  const cuts = await cutsOrLacks(db, conferenceId, shown);
  return planReel(shown.content, edition, (number) => cuts.get(number)!);
}

async function programNow(db: Queryable, conferenceId: string, programId: string): Promise<Shown> {
  const program = await readProgram(db, conferenceId, programId);
  if (program.plays.length === 0) throw conflict('There is no play in this program yet; put one in first.');
  const facts = await readPlayFacts(
    db,
    conferenceId,
    program.plays.map(({ playId }) => playId),
  );
  const gone = program.plays.findIndex(({ playId }) => !facts.has(playId));
  if (gone !== -1) throw conflict(`Play ${gone + 1} is no longer in its play log; take it out first.`);
  const { content, sources } = await contentOf(db, conferenceId, program, facts);
  return { content, sources, cuts: cutsOf(program, await readCuts(db, conferenceId, programId)) };
}

/** How each play is cut, by its number: as it was kept, else by default. */
async function cutsOrLacks(
  db: Queryable,
  conferenceId: string,
  { content, sources, cuts }: Shown,
): Promise<Map<number, CutOrLack>> {
  const sourceOf = new Map(sources.map((source) => [source.number, source]));
  const kept = new Map(cuts.map(({ number, cut }) => [number, cut]));
  const { rows } = await db.query<{ id: string }>(
    `SELECT id FROM film WHERE conference_id = $1 AND state = 'ready' AND source <> 'link' AND id = ANY ($2::uuid[])`,
    [conferenceId, cuts.flatMap(({ cut }) => cut.shots.map(({ filmId }) => filmId))],
  );
  const there = new Set(rows.map(({ id }) => id));
  const uncut = content.plays.filter(({ number }) => !kept.has(number));
  const defaults = await readDefaultCuts(
    db,
    conferenceId,
    uncut.map((play) => ({ ...play, ...sourceOf.get(play.number)! })),
  );
  return new Map(
    content.plays.map(({ number }): [number, CutOrLack] => {
      const cut = kept.get(number);
      if (!cut) return [number, defaults.get(sourceOf.get(number)!.playId) ?? { lacking: lacks.film }];
      return [
        number,
        cut.shots.every(({ filmId }) => there.has(filmId))
          ? { cut }
          : { lacking: 'A film that it was cut from is no longer here.' },
      ];
    }),
  );
}
