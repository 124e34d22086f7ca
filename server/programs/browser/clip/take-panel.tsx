import { filmClock, fitInWords } from './cut-in-words.ts';
import type { Pending, VoiceKeeper } from './use-voice.ts';

interface Props {
  readonly clip: number;
  readonly toQuestion: boolean;
  readonly voice: VoiceKeeper;
}

/** While something is recorded, and until it is kept. */
export function TakePanel({ clip, toQuestion, voice }: Props) {
  const { recorder, pending } = voice;
  const { state } = recorder;
  if (state.is === 'asking')
    return <p role="status">Waiting for the microphone: the browser asks whether this page may use it.</p>;
  if (state.is === 'counting')
    return (
      <>
        <p class="clip-count" role="status">
          {state.left}
        </p>
        <button type="button" class="second" onClick={recorder.giveUp}>
          Do not record
        </button>
      </>
    );
  if (state.is === 'recording') {
    const over = state.seconds - clip;
    return (
      <>
        <p class="clip-time">
          <strong>{filmClock(state.seconds)}</strong> <span class="soft">of {filmClock(clip)}</span>
        </p>
        <meter
          class="clip-meter"
          min="0"
          max="1"
          // Speech stands between a hundredth and all of it: shown as it is heard.
          value={Math.max(0, 1 + Math.log10(Math.max(state.level, 0.001)) / 3)}
          aria-label="How loud it is"
        />
        <p role="status" class={!state.heard && state.seconds > 1.5 ? 'wrong' : ''}>
          {over > 0
            ? 'The clip is over: the last picture is held while you speak.'
            : state.heard
              ? 'It hears you.'
              : state.seconds > 1.5
                ? 'Nothing is heard. Speak up, or see which microphone the browser uses.'
                : 'Recording.'}
        </p>
        <button type="button" class="danger" onClick={() => void recorder.stop()}>
          Stop
        </button>
      </>
    );
  }
  return pending ? <Listen {...{ pending, clip, toQuestion, voice }} /> : null;
}

function Listen({ pending, clip, toQuestion, voice }: Props & { pending: Pending }) {
  const { sending, wanted, seconds, heard } = pending;
  const isSending = sending.is === 'saving';
  return (
    <>
      {/* biome-ignore lint/a11y/useMediaCaption: its text is the narration on the card */}
      <audio controls src={pending.url} aria-label="What you recorded, not kept yet" />
      <p>
        {seconds === null ? 'A file that is not kept yet.' : fitInWords(seconds, clip, toQuestion)}
        {wanted ? '' : ' Listen to it first.'}
      </p>
      {!heard && <p class="notice warn">Nothing was heard in it. Record it again.</p>}
      {wanted && (
        <p class={`clip-state ${'why' in sending ? 'wrong' : ''}`} role="status" data-voice-state>
          {'why' in sending
            ? `Not saved: ${sending.why}${sending.is === 'offline' ? ' It stays on this device and is sent again.' : ''}`
            : 'Saving …'}
        </p>
      )}
      <div class="actions">
        <button
          type="button"
          class={sending.is === 'refused' ? 'second' : ''}
          disabled={isSending}
          onClick={() => void voice.keep()}
        >
          {sending.is === 'refused' ? 'Try once more' : 'Keep it'}
        </button>
        <button type="button" class="second" disabled={isSending} onClick={voice.again}>
          Record it again
        </button>
        <button type="button" class="second" disabled={isSending} onClick={voice.throwAway}>
          Throw it away
        </button>
      </div>
    </>
  );
}
