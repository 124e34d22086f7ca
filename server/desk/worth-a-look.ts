import { shareInWords, sharesOf } from '../duties/report-shares.ts';
import type { LetterFact, LogFact, LookFacts, PointFact } from './coordinator-facts.ts';
import { type Entry, oldestFirst } from './entry.ts';

/** A told official's point is looked at again after so many games; with fewer nothing can be said (patterns/follow-up/looks.ts). */
const gamesToLook = 2;

/** What a coordinator should look at when there is time, oldest first. */
export function worthALook(facts: LookFacts): Entry[] {
  return oldestFirst([
    ...facts.logs.flatMap((log) => thinLog(log, facts.leastShare)),
    ...facts.letters.map((letters) => ofLetters(letters, facts.seasonId)),
    ...facts.points.flatMap(ofPoint),
  ]);
}

/** A log that gives less of the chances than the conference asks for: facts filled in from film mend it. */
function thinLog(report: LogFact, leastShare: number): Entry[] {
  const { watched, decided } = sharesOf(report.kept);
  if (decided === null || decided >= leastShare) return [];
  const duties =
    report.leftOut > 0
      ? ` ${report.leftOut} ${report.leftOut === 1 ? 'duty is' : 'duties are'} left out of the report.`
      : '';
  const href = `/games/${report.gameId}`;
  return [
    {
      kind: 'thin log',
      title: `Week ${report.week}: ${report.game}`,
      href,
      says: `The log gives ${shareInWords(decided)} of the chances; ${shareInWords(watched)} of them were watched.${duties}`,
      since: report.filedAt,
      acts: [
        { label: 'Fill in the log', href },
        { label: 'Report', href: `/reports/${report.id}` },
      ],
    },
  ];
}

const whyAgain: Record<LetterFact['because'], string> = {
  template: 'made with an older template',
  figures: 'made before the figures changed',
  ruling: 'overtaken by a ruling since the release',
};

function ofLetters({ kind, because, count, official, since }: LetterFact, seasonId: string): Entry {
  const href = `/seasons/${seasonId}/letters?kind=${kind}`;
  return {
    kind: 'letters',
    title: kind === 'mid-season' ? 'Mid-season letters' : 'End-of-season letters',
    href,
    says: `${count === 1 ? `The letter of ${official} was` : `${count} letters were`} ${whyAgain[because]}.`,
    since,
    acts: [{ label: 'Make again', href }],
  };
}

function ofPoint({ id, official, duty, guidance, openedAt, told, gamesSince }: PointFact): Entry[] {
  const href = `/development-points/${id}`;
  const about = { kind: 'point', title: `${official}: ${duty}`, guidance, href } as const;
  if (!told) {
    const says = 'Opened; no conversation or letter is noted yet.';
    return [{ ...about, says, since: openedAt, acts: [{ label: 'Note what was said', href }] }];
  }
  const enough = gamesSince[gamesToLook - 1];
  if (!enough) return [];
  const says = `${gamesSince.length} games since it was last looked at: has it changed?`;
  return [{ ...about, says, since: enough, acts: [{ label: 'Look at it', href }] }];
}
