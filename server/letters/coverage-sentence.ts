import type { OfficialShares } from '../results/standings/official-shares.ts';

/** In a person's words: how much of an official's work was watched, and what was left out because too little was logged. */
export function coverageSentence(
  shares: readonly OfficialShares[],
  of: Pick<OfficialShares, 'personId' | 'position'>,
): string | null {
  const own = shares.find(({ personId, position }) => personId === of.personId && position === of.position);
  if (!own) return null;
  const watched = own.partlyWatched
    ? `Your observers watched ${own.watched} of your opportunities; what they did not watch counts neither for nor against you.`
    : 'Your observers watched every one of your opportunities.';
  const titles = own.leftOut.map(({ title }) => `“${title}”`);
  if (titles.length === 0) return watched;
  const named = titles.slice(0, mostNamed).join(', ');
  const others = titles.length > mostNamed ? ` and ${titles.length - mostNamed} more` : '';
  return `${watched} Too little was logged to count ${named}${others} everywhere, so what was marked there may be left out.`;
}

/** A letter is no list. */
const mostNamed = 4;
