import type { EntryMark, EntryPlay } from '../entry/entry-snapshot.ts';
import { clockText, downText, resultText } from '../entry/play-fields.ts';

interface Props {
  plays: readonly EntryPlay[];
  marks: readonly EntryMark[];
  current: string | undefined;
  open: boolean;
  onChoose(play: EntryPlay): void;
  onNewPlay(): void;
}

export function PlayList({ plays, marks: all, current, open, onChoose, onNewPlay }: Props) {
  const marks = new Map<string, number>();
  for (const mark of all) marks.set(mark.playId, (marks.get(mark.playId) ?? 0) + 1);
  return (
    <nav class="entry-plays" aria-label="Plays">
      {/* One stop for the Tab key, then arrows: nobody has to step through 165 plays to reach what comes after. */}
      <ol data-arrows>
        {plays.map((item) => {
          const { play } = item;
          const count = marks.get(item.playId) ?? 0;
          const when = [play.quarter ? `Q${play.quarter}` : '', clockText(play.clockSeconds)]
            .join(' ')
            .trim();
          return (
            <li key={item.playId}>
              <button
                type="button"
                aria-current={item.playId === current ? 'true' : undefined}
                tabIndex={item.playId === current ? 0 : -1}
                onClick={() => onChoose(item)}
              >
                <span class="play-number">{item.number}</span>
                <span class="play-text">
                  <span class="play-kind">{play.kind}</span> {downText(play)}
                  <small>
                    {when}
                    {when && resultText(play) ? ' · ' : ''}
                    {resultText(play)}
                  </small>
                </span>
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
