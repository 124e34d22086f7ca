import type { Cut } from '../../../timeline/cut.ts';
import { cutInWords } from './cut-in-words.ts';
import type { CutAnswer, EditorFilm, EditorRecording } from './editor-link.ts';

interface Props {
  readonly why: string;
  readonly mine: Cut;
  readonly theirs: CutAnswer;
  readonly films: readonly EditorFilm[];
  readonly recordings: readonly EditorRecording[];
  onMine(): void;
  onTheirs(): void;
}

/** Two cuts of one play, side by side, to choose from. */
export function Conflict({ why, mine, theirs, films, recordings, onMine, onTheirs }: Props) {
  const list = (cut: Cut | null) => (
    <ul>
      {(cut ? cutInWords(cut, films, [...recordings, ...theirs.recordings]) : ['Nothing.']).map((line) => (
        <li key={line}>{line}</li>
      ))}
    </ul>
  );
  return (
    <section class="notice bad" role="alert" aria-labelledby="clip-both">
      <h2 id="clip-both">Cut by two people</h2>
      <p>{why}</p>
      <div class="clip-both">
        <div>
          <h3>Yours</h3>
          {list(mine)}
          <button type="button" onClick={onMine}>
            Keep mine
          </button>
        </div>
        <div>
          <h3>{theirs.isKept ? `By ${theirs.changedBy ?? 'somebody else'}` : 'The default again'}</h3>
          {list(theirs.cut)}
          <button type="button" class="second" onClick={onTheirs}>
            Take theirs
          </button>
        </div>
      </div>
      <p class="soft">The history of the program keeps both.</p>
    </section>
  );
}
