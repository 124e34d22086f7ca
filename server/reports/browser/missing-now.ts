import { lackingFor } from '../../duties/crew-without-duty.ts';
import { countOpportunities } from '../../duties/opportunity-counts.ts';
import { watchedOn } from '../../duties/watched.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { type Missing, missingIn } from '../filing/completeness.ts';
import { type Warning, warningsOf } from '../filing/whole.ts';
import { rubricOf } from './marking.ts';

/** The same check that filing makes on the server, from what is on this device: what keeps it back, what is not whole. */
export function checkNow(state: EntryState): { missing: Missing[]; warnings: Warning[] } {
  const crew = crewAtWork(state.crew);
  const plays = state.plays.map((play) => ({ id: play.playId, number: play.number, play: play.play }));
  const rubric = rubricOf(state);
  const { watched } = state.report;
  const counted = countOpportunities(plays, crew, rubric, state.marks, {
    watchedOn:
      watched === null
        ? undefined
        : watchedOn(
            watched,
            plays.map((play) => play.id),
          ),
    decidedShareLeast: state.decidedShareLeast,
  });
  const missing = missingIn({
    crewConfirmed: state.crewConfirmed,
    crew: crew.present,
    watched,
    plays,
    observations: state.marks.map((mark) => ({ ...mark, id: mark.markId })),
    counts: counted.counts,
    stray: counted.stray,
    openConflicts: state.conflicts.length,
    lacking: lackingFor(rubric, crew),
  });
  const warnings = warningsOf({
    code: state.code,
    plays,
    crew: crew.present,
    // A device may hold a report from before these were sent.
    crewSize: state.game.crewSize ?? null,
    finalScore: state.game.finalScore ?? null,
    teams: state.game,
    counts: counted.counts,
  });
  return { missing, warnings };
}

/** The play of which the fewest facts are known: there, opportunities are most likely to be found. */
export function leastLogged(plays: readonly EntryPlay[]): EntryPlay | undefined {
  const known = (item: EntryPlay) => Object.keys(item.play).length;
  return plays.reduce<EntryPlay | undefined>(
    (least, play) => (least && known(least) <= known(play) ? least : play),
    undefined,
  );
}
