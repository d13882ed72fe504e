/** Light, night, or as the tablet says. Kept for each person, because it follows the person and not the clock. */
export const themes = ['light', 'night', 'auto'] as const;
export type Theme = (typeof themes)[number];

const lastKey = 'ebbline.theme';
const keyOf = (person: string): string => `ebbline.theme.${person}`;
const dark = (): MediaQueryList => matchMedia('(prefers-color-scheme: dark)');

const stored = (key: string): Theme => {
  try {
    const value = localStorage.getItem(key);
    return themes.includes(value as Theme) ? (value as Theme) : 'auto';
  } catch {
    return 'auto';
  }
};

export function themeOf(person: string): Theme {
  return stored(keyOf(person));
}

export function applyTheme(theme: Theme): void {
  const night = theme === 'night' || (theme === 'auto' && dark().matches);
  document.documentElement.dataset['theme'] = night ? 'night' : 'light';
  document.documentElement.style.removeProperty('background');
}

export function chooseTheme(person: string, theme: Theme): void {
  try {
    localStorage.setItem(keyOf(person), theme);
    localStorage.setItem(lastKey, theme);
  } catch {
    // Not kept; it holds until the page is closed.
  }
  applyTheme(theme);
}

/** Follows the tablet's own setting while the person has chosen to. */
export function followTablet(person: string): () => void {
  applyTheme(themeOf(person));
  const query = dark();
  const change = (): void => applyTheme(themeOf(person));
  query.addEventListener('change', change);
  return () => query.removeEventListener('change', change);
}
