import type { InputHTMLAttributes } from 'preact';
import { useState } from 'preact/hooks';

type Props = Omit<InputHTMLAttributes<HTMLInputElement>, 'value' | 'onInput' | 'onChange' | 'type'> & {
  text: string;
  /** Called when the field is left, or Enter pressed, with what was typed. */
  onText(text: string): void;
};

/**
 * A text field whose typing survives whatever else changes on the page meanwhile, such as a change being sent. What
 * was refused (`aria-invalid`) stays to be mended.
 */
export function KeptText({ text, onText, ...rest }: Props) {
  const [typed, setTyped] = useState<{ text: string; left: boolean }>();
  const shown = typed && (!typed.left || rest['aria-invalid'] === 'true') ? typed.text : text;
  return (
    <input
      {...rest}
      type="text"
      value={shown}
      onInput={(event) => setTyped({ text: event.currentTarget.value, left: false })}
      onChange={(event) => {
        setTyped({ text: event.currentTarget.value, left: true });
        onText(event.currentTarget.value);
      }}
    />
  );
}
