import { useEffect, useRef, useState } from 'preact/hooks';
import { filmAddress } from '../../games/film-address.ts';
import type { EntryPlay } from '../entry/entry-snapshot.ts';
import { clockText } from '../entry/play-fields.ts';

interface Props {
  reportId: string;
  /** The game's film as the coordinator entered it. */
  link: string | null;
  play: EntryPlay | undefined;
  onTime(seconds: number): void;
}

/** Plays a file of this device or a link beside the play. Film stays where it is; only timecodes are kept. */
export function FilmPane({ reportId, link, play, onTime }: Props) {
  const video = useRef<HTMLVideoElement>(null);
  const remembered = `crewmark-film-${reportId}`;
  const [address, setAddress] = useState(() => localStorage.getItem(remembered) ?? link ?? '');
  const [source, setSource] = useState<{ url: string; name: string }>();
  const [follow, setFollow] = useState(true);
  const [wrong, setWrong] = useState('');

  useEffect(() => () => void (source?.url.startsWith('blob:') && URL.revokeObjectURL(source.url)), [source]);

  const inTab = filmAddress(address.trim(), play?.filmSeconds);
  const jump = () => {
    const player = video.current;
    if (!player || play?.filmSeconds === null || play?.filmSeconds === undefined) return;
    player.currentTime = play.filmSeconds;
  };
  useEffect(() => {
    if (follow) jump();
  }, [play?.playId, follow]);

  const openLink = () => {
    const text = address.trim();
    if (filmAddress(text, null) === null) {
      setWrong('Give the whole address of a video, beginning with https://');
      return;
    }
    localStorage.setItem(remembered, text);
    setWrong('');
    setSource({ url: text, name: text });
  };

  return (
    <section class="card film" aria-label="Film">
      {source && (
        <>
          {/* biome-ignore lint/a11y/useMediaCaption: game film has no captions, and none could be made of it */}
          <video
            ref={video}
            src={source.url}
            controls
            preload="metadata"
            aria-label={`Film: ${source.name}`}
            onLoadedMetadata={jump}
            onError={() =>
              setWrong(
                'This cannot be played here. A link must lead to a video file; other sites open in a tab of their own.',
              )
            }
          />
          <div class="actions">
            <button
              type="button"
              class="second small"
              onClick={() => video.current && onTime(Math.round(video.current.currentTime * 10) / 10)}
              disabled={!play}
            >
              Play starts here
            </button>
            <button type="button" class="second small" onClick={jump} disabled={play?.filmSeconds == null}>
              Go to play{play?.filmSeconds == null ? '' : ` (${clockText(play.filmSeconds)})`}
            </button>
            <label>
              <input
                type="checkbox"
                checked={follow}
                onChange={(event) => setFollow(event.currentTarget.checked)}
              />
              Follow the list
            </label>
          </div>
        </>
      )}
      <div class="film-source">
        <label class="fact">
          <span>Film file on this device</span>
          <input
            type="file"
            accept="video/*"
            onChange={(event) => {
              const file = event.currentTarget.files?.[0];
              if (!file) return;
              setWrong('');
              setSource({ url: URL.createObjectURL(file), name: file.name });
            }}
          />
        </label>
        <label class="fact fact-wide">
          <span>or link</span>
          <input type="url" value={address} onInput={(event) => setAddress(event.currentTarget.value)} />
        </label>
        <button type="button" class="second small" onClick={openLink}>
          Open link
        </button>
        {inTab && (
          <a href={inTab} target="_blank" rel="noreferrer">
            Open in a tab
          </a>
        )}
      </div>
      {wrong && <p class="wrong">{wrong}</p>}
    </section>
  );
}
