// Puts the service worker to work, and lets a newer build take over when nobody is in the middle of something.
let waiting: ServiceWorker | undefined;

export async function registerWorker(): Promise<void> {
  if (!import.meta.env.PROD || !('serviceWorker' in navigator)) return;
  const registration = await navigator.serviceWorker.register('/sw.js').catch(() => undefined);
  if (!registration) return;
  waiting = registration.waiting ?? undefined;
  registration.addEventListener('updatefound', () => {
    const next = registration.installing;
    next?.addEventListener('statechange', () => {
      if (next.state === 'installed' && navigator.serviceWorker.controller) waiting = next;
    });
  });
  setInterval(() => void registration.update().catch(() => undefined), 3_600_000);
}

/** Called while the page shows only its door. */
export function letNewerBuildTakeOver(): void {
  if (!waiting) return;
  navigator.serviceWorker.addEventListener('controllerchange', () => location.reload(), { once: true });
  waiting.postMessage('take-over');
  waiting = undefined;
}
