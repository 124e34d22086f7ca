import type { Recording } from '../../narration/recording.ts';
import type { Cut } from '../../timeline/cut.ts';
import { beyondClip, secondsOfVoice } from '../../timeline/cut-length.ts';

const tenths = (seconds: number) => Math.round(seconds * 10) / 10;

/** Who is heard over a play, and whether that fits its clip; null where nobody is. */
export function voiceOfPlay(cut: Cut, asks: boolean, recordings: ReadonlyMap<string, Recording>) {
  const { voice } = cut;
  if (voice === null) return null;
  if (voice.kind === 'spoken') return { kind: voice.kind, over: 0 };
  const recording = recordings.get(voice.recordingId);
  const clip = secondsOfVoice(cut, asks);
  const { held, lost } = beyondClip(recording?.seconds ?? 0, clip);
  return {
    kind: voice.kind,
    isGone: recording === undefined,
    seconds: tenths(recording?.seconds ?? 0),
    clip: tenths(clip),
    toQuestion: asks && cut.questionAfter !== null,
    held: tenths(held),
    lost: tenths(lost),
    over: tenths(held + lost),
  };
}
