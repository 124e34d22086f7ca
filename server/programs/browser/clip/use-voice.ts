import { useEffect, useRef, useState } from 'preact/hooks';
import { mostBytes, mostSeconds } from '../../../narration/recording.ts';
import type { SaveState } from './autosave.ts';
import { ask, type CutAnswer, type EditorRecording, NotDone } from './editor-link.ts';
import type { Take } from './microphone.ts';
import type { CutKeeper } from './use-cut.ts';
import { useRecorder } from './use-recorder.ts';
import { type WaitingTake, waitingTake } from './waiting-take.ts';

/** What was recorded and is not in the cut yet. */
export interface Pending extends WaitingTake {
  /** To be listened to. */
  readonly url: string;
  readonly sending: SaveState;
}

const againMs = 4000;
const tooLarge = `The file is larger than ${mostBytes / 1e6} MB. Export it as MP3, M4A or OGG, which need far less.`;
const types = /^audio\/(webm|ogg|mpeg|mp4|wav|flac|aac)$/;

/** The voice of a play: recorded or chosen, listened to, sent, and then named by the cut. */
export function useVoice(
  { cutAddress, personId, start }: { cutAddress: string; personId: string; start: CutAnswer },
  kept: CutKeeper,
  onBegin: () => void,
  onEnd: () => void,
) {
  const [fault, setFault] = useState('');
  const [recordings, setRecordings] = useState(start.recordings);
  const [pending, setPending] = useState<Pending>();
  const newest = useRef<Pending>();
  const timer = useRef<number>();
  const device = useRef(waitingTake(personId, cutAddress));
  const become = (next: Pending | undefined) => {
    if (newest.current && newest.current.url !== next?.url) URL.revokeObjectURL(newest.current.url);
    newest.current = next;
    setPending(next);
  };
  const say = (sending: SaveState) => newest.current && become({ ...newest.current, sending });

  const begin = (take: WaitingTake) => {
    setFault('');
    become({ ...take, url: URL.createObjectURL(take.blob), sending: { is: 'waiting' } });
  };
  const taken = (take: Take) => {
    const waiting = { ...take, wanted: false, sentAs: null };
    begin(waiting);
    void device.current.keep(waiting);
  };
  const forget = () => {
    clearTimeout(timer.current);
    become(undefined);
    void device.current.forget();
  };
  const recorder = useRecorder(mostSeconds, {
    onBegin,
    onTake: (take) => {
      onEnd();
      taken(take);
    },
    onFault: setFault,
  });

  const send = async () => {
    clearTimeout(timer.current);
    const take = newest.current;
    if (!take?.wanted || take.sending.is === 'saving') return;
    say({ is: 'saving' });
    try {
      const made = await ask<EditorRecording>(cutAddress.replace(/cut$/, 'recordings'), {
        method: 'POST',
        body: take.blob,
        headers: { 'content-type': types.test(take.blob.type) ? take.blob.type : 'application/octet-stream' },
      });
      setRecordings((before) => [made, ...before]);
      kept.change({ ...kept.now(), voice: { kind: 'recorded', recordingId: made.id } });
      // It stays on the device until the cut that names it is saved.
      const sent: WaitingTake = { ...take, sentAs: made.id };
      await device.current.keep({ ...sent });
      become(undefined);
    } catch (error) {
      const { status, message } = error instanceof NotDone ? error : { status: 0, message: String(error) };
      const refused = status >= 400 && status < 500 && status !== 401;
      say({ is: refused ? 'refused' : 'offline', why: message });
      if (!refused) timer.current = window.setTimeout(() => void send(), againMs);
    }
  };

  useEffect(() => {
    void device.current.read().then((left) => {
      if (!left) return;
      const { voice } = kept.now();
      if (left.sentAs !== null && voice?.kind === 'recorded' && voice.recordingId === left.sentAs)
        return device.current.forget();
      // Of what the server had and no cut names, somebody else's cut may have been chosen: it is not sent unasked.
      const wanted = left.wanted && left.sentAs === null;
      begin({ ...left, wanted, sentAs: null });
      if (wanted) void send();
    });
    const now = () => void send();
    window.addEventListener('online', now);
    return () => {
      window.removeEventListener('online', now);
      clearTimeout(timer.current);
    };
  }, []);
  // The server has both the sound and the cut.
  const { voice } = kept.cut;
  const isSaved = kept.saving.is === 'saved' && !pending && voice?.kind === 'recorded';
  useEffect(() => {
    if (!isSaved) return;
    void device.current.read().then((left) => {
      if (left?.sentAs === voice.recordingId) return device.current.forget();
    });
  }, [isSaved, voice]);

  return {
    ...{ recorder, recordings, pending, fault },
    choose(file: File) {
      setFault(
        file.size === 0 ? 'The file is empty. Choose another.' : file.size > mostBytes ? tooLarge : '',
      );
      if (file.size > 0 && file.size <= mostBytes)
        taken({ blob: file, seconds: null, heard: true, at: Date.now() });
    },
    async keep() {
      if (!newest.current) return;
      const { url: _, sending: __, ...take } = newest.current;
      become({ ...newest.current, wanted: true });
      await device.current.keep({ ...take, wanted: true });
      await send();
    },
    throwAway: forget,
    again() {
      forget();
      void recorder.start();
    },
    /** Of a cut that somebody else kept. */
    learn: (theirs: readonly EditorRecording[]) => setRecordings([...theirs]),
  };
}
export type VoiceKeeper = ReturnType<typeof useVoice>;
