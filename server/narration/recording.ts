/** What is said over a play may run so long, seconds, and its file as it comes have so many bytes. */
export const mostSeconds = 600;
export const mostBytes = 64_000_000;
/** What ends by itself there, as a browser's recorder does, and a coder's own last samples run on a little: no reason to refuse it. */
export const longestSeconds = mostSeconds + 2;
/** Shorter than this nothing was said. */
export const leastSeconds = 0.2;

/** Media types of files that are taken; what is in them tells itself. */
export const soundTypes = [
  ...['audio/webm', 'audio/ogg', 'audio/mpeg', 'audio/mp4', 'audio/wav', 'audio/flac', 'audio/aac'],
  'application/octet-stream',
] as const;

/** A narration that a person spoke for a play of a program. */
export interface Recording {
  readonly id: string;
  readonly seconds: number;
  /** Of its file as it is kept. */
  readonly bytes: number;
  /** SHA-256 of that file, in hexadecimal. */
  readonly sha256: string;
  /** For coordinators alone. */
  readonly madeBy: string;
  readonly madeAt: Date;
}

export const recordingAddress = (programId: string, id: string) =>
  `/training/programs/${programId}/recordings/${id}.flac`;
