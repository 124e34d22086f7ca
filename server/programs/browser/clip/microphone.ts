/** What was recorded, or chosen as a file; it is on this device only. */
export interface Take {
  readonly blob: Blob;
  /** Counted while it was recorded; of a file null. */
  readonly seconds: number | null;
  /** Something was heard, as far as that is known. */
  readonly heard: boolean;
  readonly at: number;
}

/** A microphone that is open, until it is closed. */
export interface Microphone {
  /** The loudest since it was last asked, of full scale. */
  level(): number;
  /** From now on it is recorded. */
  begin(): void;
  end(): Promise<Take>;
  close(): void;
}

/** Below this part of full scale nothing is said: -46 dB. */
const silentBelow = 0.005;

const sentences: Readonly<Record<string, string>> = {
  NotAllowedError:
    'This browser may not use the microphone here. Allow it beside the page’s address, or choose a sound file.',
  NotFoundError: 'This device has no microphone. Connect one, or choose a sound file.',
  NotReadableError: 'The microphone is in use by another program. Close that one, or choose a sound file.',
};
const cannot =
  'This browser cannot record here: a page needs https for it. Choose a sound file that you recorded elsewhere.';

const forms = ['audio/webm;codecs=opus', 'audio/mp4', 'audio/ogg;codecs=opus'];

/** Asks for the microphone. @throws Error with a sentence */
export async function openMicrophone(): Promise<Microphone> {
  if (!navigator.mediaDevices?.getUserMedia || typeof MediaRecorder === 'undefined') throw new Error(cannot);
  let stream: MediaStream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: { channelCount: 1, noiseSuppression: true },
    });
  } catch (error) {
    throw new Error(
      sentences[(error as Error).name] ?? `The microphone could not be opened: ${(error as Error).message}`,
    );
  }
  const context = new AudioContext();
  // Where the press that asked for it is over, it stands still.
  void context.resume();
  const analyser = new AnalyserNode(context, { fftSize: 2048 });
  context.createMediaStreamSource(stream).connect(analyser);
  const samples = new Float32Array(analyser.fftSize);
  const mimeType = forms.find((form) => MediaRecorder.isTypeSupported(form));
  const recorder = new MediaRecorder(stream, { ...(mimeType && { mimeType }), audioBitsPerSecond: 128_000 });
  const parts: Blob[] = [];
  recorder.addEventListener('dataavailable', ({ data }) => data.size > 0 && parts.push(data));
  let began = 0;
  let highest = 0;
  return {
    level() {
      analyser.getFloatTimeDomainData(samples);
      const now = samples.reduce((most, one) => Math.max(most, Math.abs(one)), 0);
      if (began > 0) highest = Math.max(highest, now);
      return now;
    },
    begin() {
      began = performance.now();
      // In parts, so that little is lost where the browser gives up.
      recorder.start(1000);
    },
    end: () =>
      new Promise((resolve) => {
        const seconds = (performance.now() - began) / 1000;
        const done = () =>
          resolve({
            blob: new Blob(parts, { type: recorder.mimeType.split(';')[0]! }),
            ...{ seconds, heard: highest >= silentBelow, at: Date.now() },
          });
        if (recorder.state === 'inactive') done();
        else {
          recorder.addEventListener('stop', done, { once: true });
          recorder.stop();
        }
      }),
    close() {
      if (recorder.state !== 'inactive') recorder.stop();
      for (const track of stream.getTracks()) track.stop();
      void context.close();
    },
  };
}
