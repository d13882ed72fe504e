/**
 * The figures on a port of their own, so that no proxy of the wards hands them on by oversight. It answers one address
 * and knows nobody; who may reach the port is the network's to say.
 */
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import type { Metrics } from './metrics.ts';

export interface MetricsListener {
  readonly port: number;
  close(): Promise<void>;
}

export async function listenForMetrics(
  metrics: Pick<Metrics, 'text' | 'contentType'>,
  at: { readonly host: string; readonly port: number },
): Promise<MetricsListener> {
  const server: Server = createServer((request, response) => {
    if (request.method !== 'GET' || request.url !== '/metrics') {
      response.writeHead(404).end();
      return;
    }
    metrics.text().then(
      (text) => response.writeHead(200, { 'content-type': metrics.contentType }).end(text),
      () => response.writeHead(500).end(),
    );
  });
  server.requestTimeout = 10_000;
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(at.port, at.host, resolve);
  });
  return {
    port: (server.address() as AddressInfo).port,
    close: () =>
      new Promise((resolve) => {
        server.close(() => resolve());
        server.closeAllConnections();
      }),
  };
}
