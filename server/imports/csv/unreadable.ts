/** The file as a whole, or what follows a line of it, cannot be read. `message` is a sentence for people. */
export class UnreadableFile extends Error {
  /** Counted from 1; 0 means the whole file. */
  readonly line: number;
  readonly fix: string;
  constructor(line: number, message: string, fix: string) {
    super(message);
    this.line = line;
    this.fix = fix;
  }
}
