export { buildServer, type Ebbline, type RouteRule, type ServerOptions } from './build-server.ts';
export { fileAccounts, sharedAccounts, type AccountBook } from './accounts/account-book.ts';
export { makeToken, openTokens, type TokenBook } from './accounts/tokens.ts';
export { fileDirectory, fixedDirectory, type DirectoryBook } from './directory-book.ts';
export { fileProtocols, type ProtocolBook } from './protocol-book.ts';
export { readConfig, type Config } from './config.ts';
export { runServer, startServer, type Running } from './start.ts';
export { organisationIn } from './kept/in-database.ts';
