import { useMemo, useState } from 'preact/hooks';
import { type CrewAtWork, type Opportunity, opportunitiesOf } from '../../duties/opportunities.ts';
import { factNames, factValueInWords } from '../../football/fact-words.ts';
import { type GameTeams, yardLineOf } from '../../football/game-teams.ts';
import { mendOf } from '../../football/mend.ts';
import type { Fact, Play } from '../../football/play.ts';
import { crewAtWork } from '../../games/working-crew.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import type { EntryState } from '../entry/entry-state.ts';
import { rubricOf } from './marking.ts';

/** A play that started from how the one before it ended, before that was corrected. */
export interface Mend {
  readonly next: EntryPlay;
  readonly facts: Partial<Play>;
}

/**
 * Remembers how a play was before it was corrected on this page, and says what to offer for the one after it: as long
 * as something would follow otherwise, whatever was corrected in between, and undone.
 */
export function useMend(state: EntryState) {
  const [corrected, setCorrected] = useState<{ playId: string; original: Play }>();
  const at = state.plays.findIndex(({ playId }) => playId === corrected?.playId);
  const now = state.plays[at];
  const next = state.plays[at + 1];
  const mend = useMemo((): Mend | undefined => {
    if (!corrected || !now || !next) return undefined;
    const facts = mendOf(corrected.original, now.play, next.play, state.code);
    return facts && { next, facts };
  }, [corrected, now, next, state.code]);
  return {
    mend,
    /** Is it of this play, corrected or to be mended? */
    isOf: (play: EntryPlay | undefined) =>
      mend !== undefined && (play?.playId === corrected?.playId || play?.playId === mend.next.playId),
    /** To be told before each change of a play. */
    beforeChange(play: EntryPlay) {
      if (corrected?.playId !== play.playId && mend?.next.playId !== play.playId)
        setCorrected({ playId: play.playId, original: play.play });
    },
    /** The next play stays as it is. */
    leave() {
      if (now) setCorrected({ playId: now.playId, original: now.play });
    },
  };
}

/** Offers to mend the start of the next play, with what would change in it and in who owed what. */
export function MendOffer(props: {
  state: EntryState;
  teams: GameTeams;
  mend: Mend;
  onMend(): void;
  onLeave(): void;
}) {
  const { state, teams, mend, onMend, onLeave } = props;
  const { next, facts } = mend;
  const mended = { ...next.play, ...facts };
  const { gained, lost } = owedOtherwise(state, next.play, mended);
  return (
    <section class="notice mend-offer" aria-labelledby="mend-title">
      <p>
        <strong id="mend-title">Play {next.number} now starts otherwise.</strong>{' '}
        {(Object.keys(facts) as Fact[])
          .map(
            (fact) =>
              `${factNames[fact]}: ${valueInWords(mended, fact, teams)}, not ${valueInWords(next.play, fact, teams)}`,
          )
          .join('; ')}
        .
      </p>
      {gained.length + lost.length === 0 ? (
        <p class="soft">Nothing changes in who owed what on it.</p>
      ) : (
        <details>
          <summary>
            {[
              gained.length > 0 ? `${count(gained.length, 'duty', 'duties')} more` : '',
              lost.length > 0 ? `${count(lost.length, 'duty', 'duties')} less` : '',
            ]
              .filter(Boolean)
              .join(', ')}{' '}
            on play {next.number}
          </summary>
          <ul>
            {gained.map((text) => (
              <li key={text}>{text}: owed now</li>
            ))}
            {lost.map((text) => (
              <li key={text}>{text}: no longer owed</li>
            ))}
          </ul>
        </details>
      )}
      <div class="actions">
        <button type="button" onClick={onMend}>
          Mend play {next.number}
        </button>
        <button type="button" class="second" onClick={onLeave}>
          Leave it
        </button>
      </div>
    </section>
  );
}

const count = (number: number, one: string, several: string) => `${number} ${number === 1 ? one : several}`;

function owedOtherwise(state: EntryState, before: Play, after: Play): { gained: string[]; lost: string[] } {
  const titles = new Map(state.duties.map(({ key, title }) => [key, title]));
  const crew: CrewAtWork = crewAtWork(state.crew);
  const owed = (play: Play) => opportunitiesOf(play, crew, rubricOf(state)).map(inWords);
  const inWords = ({ position, dutyKey }: Opportunity) => `${position}, ${titles.get(dutyKey) ?? dutyKey}`;
  const [then, now] = [owed(before), owed(after)];
  return {
    gained: now.filter((one) => !then.includes(one)),
    lost: then.filter((one) => !now.includes(one)),
  };
}

function valueInWords(play: Play, fact: Fact, teams: GameTeams): string {
  if (fact === 'spot') return yardLineOf(play.spot, play.offense, teams);
  if (fact === 'offense' && play.offense) return teams[play.offense] || play.offense;
  return factValueInWords(play, fact);
}
