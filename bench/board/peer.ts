/**
 * The floor: 200 rows in plain markup with one key that hides half of them, one page for a row, a clock that a timer
 * moves, and one waiting request that brings a change. Kept by a service worker of three lines. No framework, no
 * record, no model: whatever a board does, it does no less than this.
 */
import { createServer, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';

const worker = `self.addEventListener('install', (event) => event.waitUntil(caches.open('peer').then((kept) => kept.add('/'))));
self.addEventListener('activate', (event) => event.waitUntil(clients.claim()));
self.addEventListener('fetch', (event) => {
  if (event.request.mode === 'navigate') event.respondWith(caches.match('/').then((kept) => kept ?? fetch(event.request)));
});`;

const script = `const board = document.getElementById('board');
const patient = document.getElementById('patient');
for (const [index, key] of document.querySelectorAll('button').entries())
  key.onclick = () => board.classList.toggle('mine', index === 1);
const show = () => {
  const open = location.hash.startsWith('#/patient/');
  board.hidden = open;
  patient.hidden = !open;
  patient.textContent = 'Patient ' + location.hash.slice(10);
};
addEventListener('hashchange', show);
setInterval(() => (document.getElementById('clock').textContent = new Date().toTimeString().slice(0, 8)), 1000);
const wait = async () => {
  for (;;) {
    const [row, words] = await fetch('/next').then((answer) => answer.json());
    document.querySelector('[data-patient="load-' + row + '"] .emptied').textContent = words;
  }
};
wait();
navigator.serviceWorker.register('/sw.js');`;

function page(rows: number): string {
  const row = (index: number): string =>
    `<tr data-patient="load-${index}" class="${index % 2 ? 'odd' : ''}"><td>14:${String(index % 60).padStart(2, '0')}</td><th><a data-row href="#/patient/load-${index}">${index}</a></th><td class="emptied">12:10 passed 300 mL</td><td><svg width="300" height="36" role="img"><rect x="${index}" y="12" width="80" height="12"/><line x1="180" x2="180" y1="4" y2="32" stroke="black"/><text x="${index + 90}" y="24">${index}–${index + 80}</text></svg></td><td>Look again</td><td>It may reach the limit of 500 mL between 15:10 and 17:40.</td></tr>`;
  return `<!doctype html><html lang="en"><meta charset="utf-8"><title>Peer</title><style>body{font:16px sans-serif}table{border-collapse:collapse;width:100%}td,th{height:40px;border-bottom:1px solid}.mine .odd{display:none}</style><p id="clock">00:00:00</p><p><button>Whole ward</button> <button>Mine</button></p><table id="board"><tbody>${Array.from({ length: rows }, (_, index) => row(index + 1)).join('')}</tbody></table><p id="patient" hidden></p><script>${script}</script></html>`;
}

export interface Peer {
  readonly address: string;
  readonly scriptBytes: number;
  /** Tells the waiting page that a row reads otherwise. */
  change(row: number, words: string): void;
  close(): Promise<void>;
}

export async function startPeer(rows: number): Promise<Peer> {
  const text = page(rows);
  let waiting: ServerResponse[] = [];
  const server = createServer((request, response) => {
    if (request.url === '/next') {
      waiting.push(response);
    } else if (request.url === '/sw.js') {
      response.writeHead(200, { 'content-type': 'text/javascript' }).end(worker);
    } else response.writeHead(200, { 'content-type': 'text/html' }).end(text);
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  return {
    address: `http://127.0.0.1:${(server.address() as AddressInfo).port}`,
    scriptBytes: Buffer.byteLength(script),
    change: (row, words) => {
      for (const response of waiting)
        response.writeHead(200, { 'content-type': 'application/json' }).end(JSON.stringify([row, words]));
      waiting = [];
    },
    close: async () => {
      server.closeAllConnections();
      await new Promise((resolve) => server.close(resolve));
    },
  };
}
