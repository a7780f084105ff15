// Runs the WebAssembly module whose path is given, and prints its lines.
import { readFileSync } from "node:fs";

const decoder = new TextDecoder("utf-8", { fatal: true });
let text = "";
const host = {
  print(at, length) {
    text += decoder.decode(new Uint8Array(instance.exports.memory.buffer, at, length));
  },
};
const { instance } = await WebAssembly.instantiate(readFileSync(process.argv[2]), { host });
instance.exports.golden();
// Not written synchronously, which fails where a pipe is full; node ends when all is written.
process.stdout.write(text);
