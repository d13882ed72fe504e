/**
 * Many live lines in one process, by plain sockets: counts for each entry how many had it and when the last one did. Told
 * what to open by its parent, and asked for its counts at the end.
 */
import { get } from 'node:http';

interface Line {
  readonly url: string;
  readonly cookie: string;
}

const seen = new Map<string, { count: number; lastMs: number }>();
let open = 0;
let lost = 0;

const idPattern = /"id":"([0-9a-f-]{36})"/;
const connect = ({ url, cookie }: Line): Promise<void> =>
  new Promise((resolve, reject) => {
    get(`${url}/api/live`, { headers: { cookie }, agent: false }, (answer) => {
      if (answer.statusCode !== 200) {
        reject(new Error(`a line answered ${answer.statusCode}`));
        return;
      }
      open += 1;
      let text = '';
      answer.setEncoding('utf8');
      answer.on('data', (part: string) => {
        text += part;
        for (let end = text.indexOf('\n\n'); end >= 0; end = text.indexOf('\n\n')) {
          const id = text.startsWith('event: entry') ? idPattern.exec(text.slice(0, end))?.[1] : undefined;
          text = text.slice(end + 2);
          if (id === undefined) continue;
          const held = seen.get(id) ?? { count: 0, lastMs: 0 };
          seen.set(id, { count: held.count + 1, lastMs: performance.timeOrigin + performance.now() });
        }
      });
      answer.on('close', () => {
        open -= 1;
        lost += 1;
      });
      resolve();
    }).on('error', reject);
  });

process.on('message', (message: { readonly lines?: readonly Line[] }) => {
  void (async () => {
    if (message.lines !== undefined) {
      for (let at = 0; at < message.lines.length; at += 20)
        await Promise.all(message.lines.slice(at, at + 20).map(connect));
      process.send?.({ ready: open });
    } else process.send?.({ seen: [...seen].map(([id, held]) => ({ id, ...held })), lost });
  })().catch((problem: unknown) => process.send?.({ failed: String(problem) }));
});
