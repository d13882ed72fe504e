/** Who wants to hear of new entries, inside one process. */
export interface Listeners {
  add(listener: (head: number) => void): () => void;
  tell(head: number): void;
}

export function listeners(): Listeners {
  const all = new Set<(head: number) => void>();
  return {
    add: (listener) => {
      all.add(listener);
      return () => void all.delete(listener);
    },
    tell: (head) => {
      for (const listener of all) listener(head);
    },
  };
}
