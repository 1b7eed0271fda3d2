# display.sh - sourced by checks that need a real X server: display_start [WIDTH [HEIGHT]] starts Xvfb, 1440 × 900 or larger, waits
# until it answers and exports DISPLAY. Its process is $xserver; the caller kills it.
# display_window WHAT ERRORS waits for the window whose name matches WHAT and leaves it in $window.
xserver=
display_window() {
    window=
    for _ in $(seq 240); do # a minute: the machine may be busy
        window=$(xdotool search --onlyvisible --name "$1" 2>/dev/null | head -1) && [ -n "$window" ] && return
        sleep 0.25
    done
    cat "$2"
    echo "the window $1 did not come"
    exit 1
}
display_start() {
    unset SDL_VIDEODRIVER WAYLAND_DISPLAY || true
    DISPLAY=:$((90 + $$ % 400))
    export DISPLAY
    Xvfb "$DISPLAY" -screen 0 "${1:-1440}x${2:-900}x24" -noreset -nolisten tcp >/dev/null 2>&1 &
    xserver=$!
    for _ in $(seq 240); do # a minute: the machine may be busy
        xdotool getdisplaygeometry >/dev/null 2>&1 && return
        sleep 0.25
    done
    echo "the X server did not come up"
    exit 1
}
