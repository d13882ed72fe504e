/** For `ref`: what has just taken the place of a key that was pressed takes the focus and comes into view. */
export function takeFocus(element: HTMLElement | null): void {
  if (!element) return;
  element.focus({ preventScroll: true });
  element.scrollIntoView({ block: 'start' });
}
