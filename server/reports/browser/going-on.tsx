import type { Code } from '../../football/codes.ts';
import type { GameTeams } from '../../football/game-teams.ts';
import { type Proposal, proposals } from '../../football/proposals.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import { samePlay } from './same-play.ts';

interface Props {
  /** In the order of the log. */
  plays: readonly EntryPlay[];
  /** The play on the page. */
  current: EntryPlay | undefined;
  code: Code;
  teams: GameTeams;
  onChoose(proposal: Proposal): void;
}

/**
 * The other ways to go on, while the last play still says nothing of its own: the next quarter, the second half with
 * its kickoff, overtime, which team kicks off.
 */
export function GoingOn({ plays, current, code, teams, onChoose }: Props) {
  const ways = otherWays(plays, current, code, teams);
  if (ways.length === 0) return null;
  return (
    <section class="notice going-on" aria-label="Other ways to go on">
      <span>Or:</span>
      {ways.map((way) => (
        <button key={way.says} type="button" class="second" onClick={() => onChoose(way)}>
          {way.says}
        </button>
      ))}
    </section>
  );
}

function otherWays(
  plays: readonly EntryPlay[],
  current: EntryPlay | undefined,
  code: Code,
  teams: GameTeams,
): Proposal[] {
  const last = plays.at(-1);
  if (!last || last.playId !== current?.playId) return [];
  const before = plays.slice(0, -1).map(({ play }) => play);
  const ways = proposals(before, code, teams);
  const chosen = ways.find(({ play }) => samePlay(play, last.play));
  return chosen ? ways.filter((way) => way !== chosen && saysMore(way, chosen)) : [];
}

/** The kickoff of which nobody knows the team is no way to choose, once a team is chosen. */
const saysMore = (way: Proposal, chosen: Proposal) =>
  chosen.what !== 'first kickoff' || way.what === 'first kickoff';
