import type { Shot } from '../../../timeline/cut.ts';
import type { EditorFilm } from './editor-link.ts';
import * as edits from './edits.ts';
import { PointerLayer } from './pointer-layer.tsx';
import type { FilmPlayer } from './use-film.ts';
import type { Preview } from './use-preview.ts';

interface Props {
  readonly film: EditorFilm | undefined;
  readonly player: FilmPlayer;
  readonly shot: Shot;
  readonly preview: Preview | undefined;
  readonly question: string;
  /** The pointer that is chosen. */
  readonly pointer: number | null;
  onChoose(pointer: number | null): void;
  onChange(how: (shot: Shot) => Shot, what?: string): void;
  onFault(sentence: string): void;
}

/** The picture, what is drawn on it, and the question where it is asked. */
export function Stage({ film, player, shot, preview, question, pointer, ...on }: Props) {
  const size = player.video.current;
  const ratio = size?.videoWidth ? size.videoHeight / size.videoWidth : 9 / 16;
  return (
    // biome-ignore lint/a11y/useSemanticElements: no part of a form
    // biome-ignore lint/a11y/noNoninteractiveTabindex: so that keys work while the picture is looked at
    <div class="clip-stage" tabIndex={0} role="group" aria-label="The picture" data-tick={player.tick}>
      <video
        ref={player.video}
        preload="auto"
        playsInline
        muted
        aria-label={`Film: ${film?.angle ?? 'removed'}`}
        onError={() =>
          on.onFault(
            'The film cannot be played here: its file may be gone, or of a kind that this browser does not play.',
          )
        }
      />
      <PointerLayer
        pointers={preview ? preview.pointers : shot.pointers}
        tick={preview ? preview.tick : player.tick}
        {...{ ratio, chosen: preview ? null : pointer }}
        onChoose={on.onChoose}
        onChange={(place, how) =>
          on.onChange((one) => edits.withPointer(one, place, how), `pointer ${place}`)
        }
        onRemove={(place) =>
          on.onChange((one) => ({ ...one, pointers: one.pointers.filter((_, own) => own !== place) }))
        }
      />
      {preview?.asks && (
        <div class="clip-asks" role="alertdialog" aria-label="The question">
          <p>{question}</p>
          <button type="button" onClick={preview.asks}>
            Go on
          </button>
        </div>
      )}
    </div>
  );
}
