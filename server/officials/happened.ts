import type { OfficialFacts } from '../desk/official-desk.ts';

/** Something that happened about an official in a season, as their page lists it. */
interface Happened {
  at: Date;
  what: string;
  href: string | null;
}

/** A step of a development point, as far as the reader may know of it. */
interface PointStep {
  title: string;
  kind: string;
  /** YYYY-MM-DD. */
  happenedOn: string;
  text: string;
  href: string | null;
}

const stepWords: Readonly<Record<string, string>> = {
  opened: 'Development point opened',
  conversation: 'Conversation about',
  letter: 'Letter about',
  note: 'Note on',
  closed: 'Development point closed',
  reopened: 'Development point opened again',
};

/** An official's season as it went, newest first: evaluations, letters, answers and rulings, development points. */
export function happened(
  facts: Pick<OfficialFacts, 'evaluations' | 'letters' | 'answers'>,
  steps: readonly PointStep[],
): Happened[] {
  const all: Happened[] = [
    ...facts.evaluations.map(({ releasedAt, week, game, marks, gameId }) => ({
      at: releasedAt,
      what: `Evaluation released: week ${week}, ${game}; ${marks === 1 ? '1 mark' : `${marks} marks`}.`,
      href: `#game-${gameId}`,
    })),
    ...facts.letters.map(({ id, title, releasedAt }) => ({
      at: releasedAt,
      what: `Letter released: ${title}.`,
      href: `/api/letters/${id}/letter.pdf`,
    })),
    ...facts.answers.flatMap(({ replyId, week, play, duty, repliedAt, ruling, ruledAt }) => {
      const about = `${duty} (week ${week}, play ${play})`;
      const href = `/replies/${replyId}`;
      return [
        { at: repliedAt, what: `Answer to a mark: ${about}.`, href },
        ...(ruling && ruledAt ? [{ at: ruledAt, what: `Ruling, ${ruling}: ${about}.`, href }] : []),
      ];
    }),
    ...steps.map(({ title, kind, happenedOn, text, href }) => ({
      at: new Date(`${happenedOn}T12:00:00Z`),
      what: `${stepWords[kind] ?? kind}: ${title}.${text ? ` ${text}` : ''}`,
      href,
    })),
  ];
  return all.sort(
    (one, other) => other.at.getTime() - one.at.getTime() || one.what.localeCompare(other.what),
  );
}
