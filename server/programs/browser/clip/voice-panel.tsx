import { mostBytes, mostSeconds } from '../../../narration/recording.ts';
import type { Cut } from '../../../timeline/cut.ts';
import { secondsOfVoice } from '../../../timeline/cut-length.ts';
import { fitInWords } from './cut-in-words.ts';
import type { EditorRecording } from './editor-link.ts';
import { TakePanel } from './take-panel.tsx';
import type { VoiceKeeper } from './use-voice.ts';

interface Props {
  readonly cut: Cut;
  readonly asks: boolean;
  /** The card has a text of what is said. */
  readonly hasText: boolean;
  readonly voice: VoiceKeeper;
  onVoice(voice: Cut['voice']): void;
}

/** Who is heard over the play, and recording it. */
export function VoicePanel({ cut, asks, hasText, voice, onVoice }: Props) {
  const { recorder, pending, fault } = voice;
  const clip = secondsOfVoice(cut, asks);
  const toQuestion = asks && cut.questionAfter !== null;
  const recorded = cut.voice?.kind === 'recorded' ? cut.voice : null;
  const recording = voice.recordings.find(({ id }) => id === recorded?.recordingId);
  const isBusy = recorder.state.is !== 'idle' || pending !== undefined;
  return (
    <section class="card" aria-labelledby="clip-voice">
      <h2 id="clip-voice">Who is heard</h2>
      {fault && (
        <p class="notice bad" role="alert">
          {fault}
        </p>
      )}
      {isBusy ? (
        <TakePanel {...{ clip, toQuestion, voice }} />
      ) : (
        <>
          {cut.voice === null && <p>Nobody: captions show the narration.</p>}
          {cut.voice?.kind === 'spoken' && (
            <p>
              A machine voice reads the narration, where the server has one; captions show it in any case.
            </p>
          )}
          {recorded && (recording ? <Heard {...{ recording, clip, toQuestion, hasText }} /> : <Gone />)}
          <div class="actions">
            <button type="button" class={recorded ? 'second' : ''} onClick={() => void recorder.start()}>
              {recorded ? 'Record it again' : 'Record it'}
            </button>
            <label class="button second clip-file">
              Choose a sound file
              <input
                type="file"
                class="visually-hidden"
                accept="audio/*,.wav,.mp3,.m4a,.ogg,.opus,.webm,.flac"
                onChange={(event) => {
                  const [file] = event.currentTarget.files ?? [];
                  event.currentTarget.value = '';
                  if (file) voice.choose(file);
                }}
              />
            </label>
            {cut.voice?.kind !== 'spoken' && (
              <button type="button" class="second" onClick={() => onVoice({ kind: 'spoken' })}>
                Let a machine read it
              </button>
            )}
            {cut.voice !== null && (
              <button type="button" class="second" onClick={() => onVoice(null)}>
                {recorded ? 'Take the recording off' : 'Nobody reads it'}
              </button>
            )}
          </div>
          <p class="soft">
            The film plays along, silent, after a count of three; R begins and stops. Say no names and no
            numbers: everybody hears it. WAV, MP3, M4A, OGG, FLAC or WebM, {mostSeconds / 60} minutes and{' '}
            {mostBytes / 1e6} MB at most.
          </p>
        </>
      )}
    </section>
  );
}

function Heard({
  recording,
  clip,
  toQuestion,
  hasText,
}: {
  recording: EditorRecording;
  clip: number;
  toQuestion: boolean;
  hasText: boolean;
}) {
  const isOver = recording.seconds - clip >= 0.05;
  return (
    <>
      {/* biome-ignore lint/a11y/useMediaCaption: its text is the narration on the card */}
      <audio controls preload="metadata" src={recording.address} aria-label="The recording" />
      <p class={isOver ? 'wrong' : ''} data-fit>
        Recorded by {recording.madeBy}: {fitInWords(recording.seconds, clip, toQuestion)}
      </p>
      {!hasText && (
        <p class="notice warn">
          Write what you say as the narration on the card, too: without it the play has no captions.
        </p>
      )}
    </>
  );
}

const Gone = () => (
  <p class="notice bad">The recording is no longer here. Record it again, or take it off.</p>
);
