// Loaded before a program (node --import): any step towards a network, other than to this computer, ends it loudly.
import dgram from "node:dgram";
import dns from "node:dns";
import net from "node:net";

const isHere = (host) =>
  host === undefined || host === "" || host === "localhost" || host === "::1" || /^127\./.test(host);
const stop = (what) => {
  process.stderr.write(`NETWORK USED: ${what}\n`);
  process.exit(99);
};

const connect = net.Socket.prototype.connect;
net.Socket.prototype.connect = function (...args) {
  const [first, second] = Array.isArray(args[0]) ? args[0] : args;
  const host = typeof first === "object" && first !== null ? first.host : second;
  const isPath = typeof first === "string" || (typeof first === "object" && first?.path !== undefined);
  if (!isPath && !isHere(typeof host === "string" ? host : undefined)) stop(`connect ${host}`);
  return connect.apply(this, args);
};
const listen = net.Server.prototype.listen;
net.Server.prototype.listen = function (...args) {
  const [first, second] = args;
  const host = typeof first === "object" && first !== null ? first.host : second;
  const isPath = typeof first === "string" || first?.path !== undefined;
  if (!isPath && (typeof host !== "string" || !isHere(host))) stop(`listen ${host}`);
  return listen.apply(this, args);
};
for (const name of ["lookup", "resolve", "resolve4", "resolve6", "resolveAny"]) {
  const own = dns[name];
  dns[name] = (host, ...rest) => (isHere(host) ? own(host, ...rest) : stop(`dns.${name} ${host}`));
}
for (const name of Object.keys(dns.promises)) {
  if (!/^(lookup|resolve)/.test(name)) continue;
  const own = dns.promises[name];
  dns.promises[name] = (host, ...rest) => (isHere(host) ? own(host, ...rest) : stop(`dns.${name} ${host}`));
}
dgram.createSocket = () => stop("a datagram socket");
globalThis.fetch = (address) => stop(`fetch ${address}`);
