import { useId, useState } from 'preact/hooks';
import { type Foul, foulMoments, foulOutcomes } from '../../football/fouls.ts';
import { type GameTeams, shortTeams, yardLineOf, yardsFrom } from '../../football/game-teams.ts';
import type { Play } from '../../football/play.ts';
import { type Position, positionLetter } from '../../football/positions.ts';
import { usualFouls } from '../../football/usual-fouls.ts';
import { KeptText } from './kept-text.tsx';

interface Props {
  play: Play;
  teams: GameTeams;
  /** Who may have thrown the flag. */
  crew: readonly Position[];
  open: boolean;
  onFouls(fouls: Play['fouls'], label: string): void;
}

/** As many fouls are in sight before the others are asked for. */
const usualInSight = 12;

/** The fouls of a play: what, by which team, who called it, what came of it, each by one touch. */
export function FoulPicker({ play, teams, crew, open, onFouls }: Props) {
  const { fouls } = play;
  const [choosing, choose] = useState(false);
  const add = (foul: Pick<Foul, 'foul' | 'by'>) => {
    choose(false);
    onFouls([...(fouls ?? []), foul], foul.foul);
  };
  return (
    <fieldset class="fouls">
      <legend>Fouls</legend>
      {fouls?.map((foul, at) => (
        <FoulCard
          key={at}
          foul={foul}
          play={play}
          teams={teams}
          crew={crew}
          open={open}
          onFoul={(changed) => onFouls(fouls.with(at, changed), foul.foul)}
          onRemove={() => onFouls(fouls.length === 1 ? undefined : fouls.toSpliced(at, 1), `no ${foul.foul}`)}
        />
      ))}
      {open && mayOffset(fouls) && (
        <button
          type="button"
          class="chip proposal"
          onClick={() => onFouls(fouls?.map(offset), 'fouls that offset')}
        >
          The fouls offset?
        </button>
      )}
      {open && (
        <div class="chips" data-arrows>
          <button
            type="button"
            id="fact-fouls"
            class="chip"
            aria-expanded={choosing}
            onClick={() => choose(!choosing)}
          >
            {fouls?.length ? 'Another foul' : 'Foul'}
          </button>
          {!fouls?.length && (
            <button
              type="button"
              class="chip"
              aria-pressed={fouls !== undefined}
              onClick={() => onFouls(fouls === undefined ? [] : undefined, 'no foul')}
            >
              No foul
            </button>
          )}
        </div>
      )}
      {choosing && <FoulChoice onAdd={add} play={play} teams={teams} />}
    </fieldset>
  );
}

/** One by each team, and nothing said yet of what came of them. */
function mayOffset(fouls: Play['fouls']): boolean {
  const open = (fouls ?? []).filter(({ outcome }) => outcome === undefined);
  return open.some(({ by }) => by === 'offense') && open.some(({ by }) => by === 'defense');
}
const offset = (foul: Foul): Foul => (foul.outcome === undefined ? { ...foul, outcome: 'offsetting' } : foul);

function FoulChoice({ onAdd, play, teams }: Pick<Props, 'play' | 'teams'> & { onAdd(foul: Foul): void }) {
  const [all, showAll] = useState(false);
  const [other, setOther] = useState('');
  const name = other.replace(/[;/]/g, ' ').trim();
  return (
    <div class="foul-choice">
      <div class="chips" data-arrows>
        {(all ? usualFouls : usualFouls.slice(0, usualInSight)).map((foul) => (
          <button key={foul.foul} type="button" class="chip" onClick={() => onAdd(foul)}>
            {foul.foul}
          </button>
        ))}
        <button type="button" class="chip other" aria-expanded={all} onClick={() => showAll(!all)}>
          {all ? 'Fewer' : 'More fouls'}
        </button>
      </div>
      {all && (
        <div class="fact-row">
          <div class="fact fact-wide">
            <label for="other-foul">A foul that is not listed</label>
            <input
              id="other-foul"
              maxLength={60}
              value={other}
              onInput={(event) => setOther(event.currentTarget.value)}
            />
          </div>
          {(['offense', 'defense'] as const).map((by) => (
            <button
              key={by}
              type="button"
              class="second small"
              disabled={name === ''}
              onClick={() => onAdd({ foul: name, by })}
            >
              By {teamName(by, play, teams)}
            </button>
          ))}
        </div>
      )}
    </div>
  );
}

interface CardProps extends Omit<Props, 'onFouls'> {
  foul: Foul;
  onFoul(foul: Foul): void;
  onRemove(): void;
}

function FoulCard({ foul, play, teams, crew, open, onFoul, onRemove }: CardProps) {
  const id = useId();
  const [wrong, setWrong] = useState('');
  const put = (part: keyof Foul, value: unknown) => {
    const next: Record<string, unknown> = { ...foul, [part]: value };
    if (value === undefined || value === '') delete next[part];
    onFoul(next as Foul);
  };
  const row = (
    part: 'by' | 'reportedBy' | 'outcome' | 'moment',
    title: string,
    options: readonly { value: string; words: string; detail?: string }[],
  ) => (
    <fieldset class={`chips foul-${part}`} data-arrows>
      <legend>{title}</legend>
      {options.map(({ value, words, detail }) => (
        <button
          key={value}
          type="button"
          class="chip"
          disabled={!open}
          aria-pressed={foul[part] === value}
          aria-label={detail}
          title={detail}
          onClick={() => put(part, foul[part] === value && part !== 'by' ? undefined : value)}
        >
          {words}
        </button>
      ))}
    </fieldset>
  );
  const plain = (values: readonly string[]) => values.map((value) => ({ value, words: value }));
  const reporters = foul.reportedBy && !crew.includes(foul.reportedBy) ? [...crew, foul.reportedBy] : crew;
  return (
    <fieldset class="foul">
      <legend>{foul.foul}</legend>
      {row(
        'by',
        'By',
        (['offense', 'defense'] as const).map((by) => ({ value: by, words: teamName(by, play, teams) })),
      )}
      {row('outcome', 'Outcome', plain(foulOutcomes))}
      {row(
        'reportedBy',
        'Called by',
        reporters.map((position) => ({
          value: position,
          words: positionLetter[position],
          detail: `${foul.foul} called by the ${position}`,
        })),
      )}
      <details>
        <summary>
          Player, spot, live or dead ball<span class="visually-hidden">: {foul.foul}</span>
        </summary>
        {row('moment', 'While the ball was', plain(foulMoments))}
        <div class="fact-row">
          <div class="fact fact-number">
            <label for={`${id}-player`}>Player</label>
            <KeptText
              id={`${id}-player`}
              disabled={!open}
              maxLength={20}
              text={foul.player ?? ''}
              onText={(text) => put('player', text.replace(/[;/]/g, ' ').trim())}
            />
          </div>
          <div class="fact fact-yard-line">
            <label for={`${id}-where`}>Where</label>
            <KeptText
              id={`${id}-where`}
              disabled={!open}
              aria-invalid={wrong ? 'true' : undefined}
              text={foul.spot === undefined ? '' : yardLineOf(foul.spot, play.offense, teams)}
              onText={(text) => {
                try {
                  const spot = text.trim() === '' ? undefined : yardsFrom(text, play.offense, teams);
                  if (spot !== undefined && (spot < 0 || spot > 100))
                    throw new Error('a foul is enforced from the field of play');
                  setWrong('');
                  put('spot', spot);
                } catch (error) {
                  setWrong((error as Error).message);
                }
              }}
            />
            {wrong && <span class="wrong">{wrong}</span>}
          </div>
        </div>
      </details>
      {open && (
        <button type="button" class="second small" onClick={onRemove}>
          Remove<span class="visually-hidden"> {foul.foul}</span>
        </button>
      )}
    </fieldset>
  );
}

/** `LAR (offense)`, or the offense while nobody said who has the ball. */
function teamName(by: Foul['by'], { offense }: Play, teams: GameTeams): string {
  if (offense === undefined) return `the ${by}`;
  const short = shortTeams(teams);
  const team = by === 'offense' ? offense : offense === 'home' ? 'visitor' : 'home';
  return `${short[team]} (${by})`;
}
