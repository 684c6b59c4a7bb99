// Runs Python code under MicroPython's WebAssembly build:  node program.mjs MICROPYTHON.mjs CODE [FILE...]
//
// The FILEs, Python modules, are put where MicroPython imports from. The code's standard input and output are this
// process's, byte for byte.
import { readFileSync, readSync, writeSync } from "node:fs";
import { basename } from "node:path";
import { pathToFileURL } from "node:url";

const [build, code, ...files] = process.argv.slice(2);
const HEAP_BYTES = 8 * 1024 * 1024;

const heard = Buffer.alloc(65536);
let count = 0;
let taken = 0;

/** The next byte of standard input, null at its end. */
function next() {
    if (taken === count) {
        count = readSync(0, heard);
        taken = 0;
    }
    return taken < count ? heard[taken++] : null;
}

/** All of `bytes` to standard output. */
function send(bytes) {
    for (let done = 0; done < bytes.length; ) done += writeSync(1, bytes, done);
}

try {
    const { loadMicroPython } = await import(pathToFileURL(build));
    const python = await loadMicroPython({ heapsize: HEAP_BYTES, linebuffer: false, stdin: next, stdout: send });
    for (const file of files) python.FS.writeFile("/" + basename(file), readFileSync(file));
    python.runPython(code);
} catch (error) {
    console.error(error.message); // a stack would show the whole build, which is one line
    process.exitCode = 1;
}
