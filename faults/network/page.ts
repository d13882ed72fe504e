/**
 * As much of a browser as the tablet's own `httpRemote` needs, one for each tablet: fetch with a cookie, and server-sent
 * events. Waits are shorter than a browser's by a factor.
 */
import { get, type IncomingMessage } from 'node:http';
import { httpRemote, type Remote } from '../../apps/web/src/shell/remote.ts';

/** Ten seconds of a page take one here. */
export const hurry = 10;

interface Page {
  readonly address: string;
  cookie: string;
}

/** Whose page calls: every call of a remote reaches fetch before anything else runs. */
let calling: Page | undefined;

const platformFetch = globalThis.fetch;
const platformTimeout = AbortSignal.timeout.bind(AbortSignal);

async function pageFetch(path: string, init: RequestInit = {}): Promise<Response> {
  const page = calling as Page;
  const response = await platformFetch(page.address + path, {
    ...init,
    headers: { ...(init.headers as Record<string, string>), cookie: page.cookie },
  });
  const [set] = response.headers.getSetCookie();
  if (set !== undefined) page.cookie = set.split(';')[0] ?? '';
  return response;
}

/** Reads server-sent events as the standard says, as far as the product sends them. */
class PageEventSource extends EventTarget {
  #response: IncomingMessage | undefined;
  #closed = false;
  readonly #request: ReturnType<typeof get>;

  constructor(path: string) {
    super();
    const page = calling as Page;
    const lost = (): void => {
      if (!this.#closed) this.dispatchEvent(new Event('error'));
    };
    this.#request = get(
      page.address + path,
      { headers: { cookie: page.cookie }, agent: false },
      (response) => {
        this.#response = response;
        if (response.statusCode !== 200) return lost();
        this.dispatchEvent(new Event('open'));
        let text = '';
        response.setEncoding('utf8');
        response.on('data', (part: string) => {
          text += part;
          for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
            const block = text.slice(0, end);
            text = text.slice(end + 2);
            const name = /^event: (.*)$/m.exec(block)?.[1];
            const data = /^data: (.*)$/m.exec(block)?.[1] ?? '';
            if (name !== undefined && !this.#closed) this.dispatchEvent(new MessageEvent(name, { data }));
          }
        });
        response.on('close', lost);
        response.on('error', () => undefined);
      },
    );
    this.#request.on('error', lost);
  }

  close(): void {
    this.#closed = true;
    this.#response?.destroy();
    this.#request.destroy();
  }
}

/** Puts the browser's names in place; gives how to take them away. */
export function browserNames(): () => void {
  const before = { fetch: globalThis.fetch, EventSource: globalThis.EventSource };
  Object.assign(globalThis, { fetch: pageFetch, EventSource: PageEventSource });
  AbortSignal.timeout = (ms) => platformTimeout(Math.ceil(ms / hurry));
  return () => {
    Object.assign(globalThis, before);
    AbortSignal.timeout = platformTimeout;
  };
}

export function pageRemote(address: string): Remote {
  const page: Page = { address, cookie: '' };
  const remote = httpRemote();
  return new Proxy(remote, {
    get: (target, name) => {
      const method = target[name as keyof Remote] as (...given: unknown[]) => unknown;
      return (...given: unknown[]) => {
        calling = page;
        return method(...given);
      };
    },
  });
}
