import { useMemo, useRef, useState } from 'preact/hooks';
import type { CompiledRubric, CrewAtWork } from '../../duties/opportunities.ts';
import type { Code } from '../../football/codes.ts';
import type { Contradiction } from '../../football/contradictions/index.ts';
import { factNames } from '../../football/fact-words.ts';
import { type GameTeams, teamSpellings } from '../../football/game-teams.ts';
import { nothingElseHappened } from '../../football/nothing-unusual.ts';
import { type Fact, type Play, playSchema } from '../../football/play.ts';
import { kindInWords, resultInWords } from '../../football/play-in-words.ts';
import type { Position } from '../../football/positions.ts';
import type { SaidContext } from '../../football/said/index.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import { ofItsKind } from '../entry/play-chips.ts';
import { clockText, fieldsFor, type PlayField, secondsFrom, sections } from '../entry/play-fields.ts';
import { ChipRowOf } from './chip-rows.tsx';
import { FactField } from './fact-field.tsx';
import { FieldStrip } from './field-strip.tsx';
import { FoulPicker } from './foul-picker.tsx';
import { KeptText } from './kept-text.tsx';
import { useLeftHand } from './left-hand.tsx';
import { PlayContradictions } from './play-contradictions.tsx';
import { PlayLine } from './play-line.tsx';
import { PlayStart } from './play-start.tsx';
import { UndecidedLine } from './undecided-line.tsx';

interface Props {
  play: EntryPlay;
  reportId: string;
  teams: GameTeams;
  code: Code;
  atWork: CrewAtWork;
  rubric: CompiledRubric;
  /** Who works the game. */
  crew: readonly Position[];
  contradictions: readonly Contradiction[];
  open: boolean;
  onChange(part: Partial<Pick<EntryPlay, 'play' | 'filmSeconds' | 'note'>>, label: string): void;
  onInsert(): void;
  onRemove(): void;
  /** To the play after this one, which is offered where there is none yet. */
  onNext(): void;
  isLast: boolean;
}

/** The facts of one play. A fact left open stays unknown, and unknown facts make no opportunities. */
export function PlayFacts(props: Props) {
  const { play: item, teams, code, crew, contradictions, open, onChange, onInsert, onRemove } = props;
  const { play } = item;
  const [wrong, setWrong] = useState<Partial<Record<Fact | 'film' | 'note', string>>>({});
  /** As the line of words has it so far, before it is kept. */
  const [said, setSaid] = useState<Play>();
  const shown = said ?? play;
  const card = useRef<HTMLDivElement>(null);

  /** False when the play would not be one. */
  const keep = (next: Play, label: string, fact?: Fact): boolean => {
    const checked = playSchema.safeParse(next);
    if (!checked.success) {
      const { path, message } = checked.error.issues[0]!;
      setWrong({ ...wrong, [fact ?? (path[0] as Fact)]: message });
      return false;
    }
    if (fact) setWrong({ ...wrong, [fact]: undefined });
    onChange({ play: checked.data }, label);
    return true;
  };
  const put = (fact: Fact, value: unknown, label: string) => {
    const next: Record<string, unknown> = { ...play, [fact]: value };
    if (value === undefined) delete next[fact];
    keep(ofItsKind(next as Play, play.kind), label, fact);
  };

  const fields = (group: PlayField['group']) =>
    fieldsFor(play, group).map((field) =>
      field.control === 'fouls' ? null : (
        <FactField
          key={field.fact}
          field={field}
          play={play}
          teams={teams}
          open={open}
          wrong={wrong[field.fact]}
          onWrong={(message) => setWrong({ ...wrong, [field.fact]: message })}
          onChange={(value) => put(field.fact, value, field.label.toLowerCase())}
        />
      ),
    );

  const shownSections = sections.filter((section) => fieldsFor(play, section).length > 0);
  const more = [
    ...fieldsFor(play, 'result'),
    ...shownSections.flatMap((section) => fieldsFor(play, section)),
  ];
  const noted = more.filter((field) => play[field.fact] !== undefined).length;
  /** Opens what hides a fact and goes to it. */
  const goTo = (fact: Fact) => {
    const field = card.current?.querySelector<HTMLElement>(`#fact-${fact}`);
    const around = field?.closest<HTMLDetailsElement>('details:not([open])');
    if (around) around.open = true;
    field?.focus();
  };
  const { left, turn } = useLeftHand(props.reportId, shown);
  const context = useMemo(
    (): SaidContext => ({ code, teams: teamSpellings(teams), crew, left }),
    [code, teams, crew.join(), left],
  );
  const chips = { play: shown, code, open, onPlay: keep };
  return (
    <div>
      <PlayContradictions found={contradictions} onMend={goTo} />
      <div ref={card} class="card facts-card">
        <h2 id="play-title">
          Play {item.number}
          <span class="soft"> {[kindInWords(shown), resultInWords(shown)].filter(Boolean).join(', ')}</span>
        </h2>
        <PlayStart
          play={play}
          teams={teams}
          open={open}
          onOffense={(team) => put('offense', team, 'team with the ball')}
        >
          {fields('start')}
        </PlayStart>
        {open && (
          <PlayLine
            play={play}
            context={context}
            onTurn={turn}
            onSaid={setSaid}
            onKeep={(said, over) => {
              const note = [item.note, over].filter(Boolean).join('; ').slice(0, 2000);
              onChange(over === '' ? { play: said } : { play: said, note }, 'what was said');
            }}
            onNext={props.onNext}
          />
        )}
        <ChipRowOf {...chips} row="what happened" />
        <ChipRowOf {...chips} row="where it went" />
        <FieldStrip
          play={shown}
          teams={teams}
          open={open}
          onPlace={(says, label) => keep({ ...shown, ...says }, label)}
        />
        <ChipRowOf {...chips} row="how it ended" />
        <ChipRowOf {...chips} row="what else happened" />
        <FoulPicker
          play={shown}
          teams={teams}
          crew={crew}
          open={open}
          onFouls={(fouls, label) => keep(withFouls(shown, fouls), label)}
        />
        <UndecidedLine
          play={shown}
          crew={props.atWork}
          rubric={props.rubric}
          open={open}
          onAnswer={(fact, value) => put(fact, value, factNames[fact])}
          onGoTo={goTo}
        />
        {open && props.isLast && (
          <div class="actions next-play">
            <button
              type="button"
              class="second"
              onClick={() =>
                keep(nothingElseHappened(shown, code), 'nothing else happened') && props.onNext()
              }
            >
              Nothing else, next play
            </button>
            <button type="button" onClick={props.onNext}>
              Next play
            </button>
          </div>
        )}
        <details>
          <summary>
            More facts{' '}
            <span class="soft">
              ({noted} of {more.length} noted)
            </span>
          </summary>
          <div class="fact-sections">
            <fieldset>
              <legend>What came of it</legend>
              <div class="fact-row">{fields('result')}</div>
            </fieldset>
            {shownSections.map((section) => (
              <fieldset key={section}>
                <legend>{section}</legend>
                <div class="fact-row">{fields(section)}</div>
              </fieldset>
            ))}
          </div>
          <div class="fact-row">
            <div class="fact">
              <label for="film-time">Film time</label>
              <KeptText
                id="film-time"
                text={clockText(item.filmSeconds)}
                placeholder="m:ss"
                disabled={!open}
                aria-invalid={wrong.film ? 'true' : undefined}
                onText={(text) => {
                  const seconds = text.trim() === '' ? null : secondsFrom(text);
                  setWrong({ ...wrong, film: seconds === undefined ? 'write m:ss or h:mm:ss' : undefined });
                  if (seconds !== undefined) onChange({ filmSeconds: seconds }, 'film time');
                }}
              />
              {wrong.film && <span class="wrong">{wrong.film}</span>}
            </div>
            <div class="fact fact-wide">
              <label for="play-note">Note for yourself</label>
              <KeptText
                id="play-note"
                maxLength={2000}
                text={item.note}
                disabled={!open}
                onText={(note) => onChange({ note }, 'note')}
              />
            </div>
          </div>
          {open && (
            <div class="actions">
              <button type="button" class="second small" onClick={onInsert}>
                Insert a play after this
              </button>
              <button type="button" class="second small" onClick={onRemove}>
                Remove play
              </button>
            </div>
          )}
        </details>
      </div>
    </div>
  );
}

function withFouls(play: Play, fouls: Play['fouls']): Play {
  const { fouls: _, ...rest } = play;
  return fouls === undefined ? rest : { ...rest, fouls };
}
