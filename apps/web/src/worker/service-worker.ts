// Lets the page open without the network. Everything built is put into one cache under the name of this build;
// opening the page is answered from it. The ward's record (/api) is never touched, so nothing old is shown as new.
interface LastingEvent extends Event {
  waitUntil(work: Promise<unknown>): void;
}
interface AskedEvent extends Event {
  readonly request: Request;
  respondWith(answer: Promise<Response>): void;
}
interface WorkerScope {
  readonly location: Location;
  readonly clients: { claim(): Promise<void> };
  skipWaiting(): Promise<void>;
  addEventListener(type: 'install' | 'activate', listener: (event: LastingEvent) => void): void;
  addEventListener(type: 'message', listener: (event: MessageEvent) => void): void;
  addEventListener(type: 'fetch', listener: (event: AskedEvent) => void): void;
}
const worker = globalThis as unknown as WorkerScope;
declare const __BUILD__: string;
declare const __FILES__: readonly string[];

const cacheName = `ebbline-${__BUILD__}`;

worker.addEventListener('install', (event) => {
  event.waitUntil(caches.open(cacheName).then((cache) => cache.addAll([...__FILES__])));
});

worker.addEventListener('activate', (event) => {
  const tidy = async (): Promise<void> => {
    for (const name of await caches.keys())
      if (name.startsWith('ebbline-') && name !== cacheName) await caches.delete(name);
    await worker.clients.claim();
  };
  event.waitUntil(tidy());
});

// A newer build waits until the page says that nobody is in the middle of something.
worker.addEventListener('message', (event) => {
  if (event.data === 'take-over') void worker.skipWaiting();
});

worker.addEventListener('fetch', (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== 'GET' || url.origin !== worker.location.origin) return;
  if (request.mode === 'navigate') {
    if (url.pathname !== '/') return;
    event.respondWith(caches.match('/', { cacheName }).then((kept) => kept ?? fetch(request)));
    return;
  }
  if (!__FILES__.includes(url.pathname)) return;
  event.respondWith(caches.match(url.pathname, { cacheName }).then((kept) => kept ?? fetch(request)));
});

export {};
