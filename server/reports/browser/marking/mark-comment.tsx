import { useEffect, useRef, useState } from 'preact/hooks';
import { effectOf } from '../../../duties/finding.ts';
import type { EntryMark } from '../../entry/entry-snapshot.ts';

interface Props {
  mark: EntryMark;
  open: boolean;
  onComment(mark: EntryMark, text: string): void;
  onDone(): void;
  onRemove(mark: EntryMark): void;
}

/** What happened, in words, kept while it is typed. Filing asks for it where something was not met. */
export function MarkComment({ mark, open, onComment, onDone, onRemove }: Props) {
  const [text, setText] = useState(mark.comment);
  const latest = useRef({ text, mark, onComment });
  latest.current = { text, mark, onComment };
  const timer = useRef<ReturnType<typeof setTimeout>>();
  const kept = useRef(mark.comment);

  const keepNow = () => {
    clearTimeout(timer.current);
    const { text: now, mark: on, onComment: send } = latest.current;
    if (now === kept.current) return;
    kept.current = now;
    send(on, now);
  };
  // Whatever takes the field away, what was typed is kept first.
  useEffect(() => keepNow, []);
  // Changed elsewhere while nothing is being typed here.
  useEffect(() => {
    if (mark.comment === kept.current) return;
    if (latest.current.text === kept.current) setText(mark.comment);
    kept.current = mark.comment;
  }, [mark.comment]);

  const needed = effectOf(mark.finding) === 'not met';
  return (
    <div class="mark-comment">
      <label for="mark-comment">
        What happened <small>{needed ? '(now or before filing)' : '(if you like)'} · Enter when done</small>
      </label>
      <textarea
        id="mark-comment"
        rows={2}
        maxLength={4000}
        value={text}
        disabled={!open}
        onInput={(event) => {
          setText(event.currentTarget.value);
          latest.current.text = event.currentTarget.value;
          clearTimeout(timer.current);
          timer.current = setTimeout(keepNow, 400);
        }}
        onBlur={keepNow}
        onKeyDown={(event) => {
          if (event.key !== 'Enter' || event.shiftKey || event.isComposing) return;
          event.preventDefault();
          keepNow();
          onDone();
        }}
      />
      {open && (
        <button type="button" class="second small" onClick={() => onRemove(mark)}>
          Remove mark
        </button>
      )}
    </div>
  );
}
