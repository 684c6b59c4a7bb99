/* Firmware that jumps to where no program is. */
int main(void) {
    ((void (*)(void))0x3F00)();
    for (;;) {
    }
}
