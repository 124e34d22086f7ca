import { downInWords, kindInWords, resultInWords } from '../../football/play-in-words.ts';
import type { EntryMark, EntryPlay } from '../entry/entry-snapshot.ts';
import { clockText } from '../entry/play-fields.ts';
import { type LogStanding, mostUndecidedFirst } from './log-standing.ts';

interface Props {
  plays: readonly EntryPlay[];
  marks: readonly EntryMark[];
  current: string | undefined;
  /** Numbers of the plays that contradict themselves or another. */
  contradicting: ReadonlySet<number>;
  standing: LogStanding;
  /** Only plays with something undecided, where most can be decided first. */
  onlyUndecided: boolean;
  open: boolean;
  onOnlyUndecided(only: boolean): void;
  onNextUndecided(): void;
  onChoose(play: EntryPlay): void;
  onNewPlay(): void;
}

export function PlayList(props: Props) {
  const {
    plays,
    marks: all,
    current,
    contradicting,
    standing,
    onlyUndecided,
    open,
    onChoose,
    onNewPlay,
  } = props;
  const marks = new Map<string, number>();
  for (const mark of all) marks.set(mark.playId, (marks.get(mark.playId) ?? 0) + 1);
  const shown = onlyUndecided ? mostUndecidedFirst(plays, standing) : plays;
  const toDecide = plays.length - standing.complete;
  // The Tab key finds the list also when the play in view is not in it.
  const stop = shown.some(({ playId }) => playId === current) ? current : shown[0]?.playId;
  return (
    <nav class="entry-plays" aria-label="Plays">
      {(toDecide > 0 || onlyUndecided) && (
        <div class="undecided-plays">
          <button
            type="button"
            class="second"
            aria-pressed={onlyUndecided}
            onClick={() => props.onOnlyUndecided(!onlyUndecided)}
          >
            Undecided ({toDecide})
          </button>
          <button type="button" class="second" disabled={toDecide === 0} onClick={props.onNextUndecided}>
            Next
            <span class="visually-hidden"> undecided play</span>
          </button>
        </div>
      )}
      {shown.length === 0 && <p class="soft all-decided">Every play is decided.</p>}
      {/* One stop for the Tab key, then arrows: nobody has to step through 165 plays to reach what comes after. */}
      <ol data-arrows>
        {shown.map((item) => {
          const { play } = item;
          const count = marks.get(item.playId) ?? 0;
          const left = standing.undecided.get(item.playId) ?? 0;
          const about = play.clockSeconds === undefined && play.clockAbout !== undefined ? 'about ' : '';
          const when = [
            play.quarter ? `Q${play.quarter}` : '',
            about + clockText(play.clockSeconds ?? play.clockAbout),
          ]
            .join(' ')
            .trim();
          return (
            <li key={item.playId}>
              <button
                type="button"
                aria-current={item.playId === current ? 'true' : undefined}
                tabIndex={item.playId === stop ? 0 : -1}
                onClick={() => onChoose(item)}
              >
                <span class="play-number">{item.number}</span>
                <span class="play-text">
                  <span class="play-kind">{kindInWords(play)}</span> {downInWords(play)}
                  <small>
                    {when}
                    {when && resultInWords(play) ? ' · ' : ''}
                    {resultInWords(play)}
                    {left > 0 && ` · ${left} undecided`}
                    {onlyUndecided && item.filmSeconds !== null && ` · film ${clockText(item.filmSeconds)}`}
                  </small>
                </span>
                {contradicting.has(item.number) && (
                  <span class="tag warn" title="Something here cannot be right">
                    !<span class="visually-hidden"> cannot be right</span>
                  </span>
                )}
                {count > 0 && (
                  <span class="play-marks">
                    {count}
                    <span class="visually-hidden"> {count === 1 ? 'mark' : 'marks'}</span>
                  </span>
                )}
              </button>
            </li>
          );
        })}
      </ol>
      {open && (
        <button type="button" class="second entry-add" onClick={onNewPlay}>
          New play
        </button>
      )}
    </nav>
  );
}
