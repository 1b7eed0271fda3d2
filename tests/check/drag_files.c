/* drag_files.c - a small window that files can be dragged out of, as out of a file manager: XDND, version 5
 * (freedesktop.org, "Drag-and-Drop Protocol for the X Window System"). Usage: drag_files X Y FILE... shows it at X, Y;
 * a press on it begins the drag, the release over another window drops. Ends 0 once the other has taken the files, 1 when it
 * would not. */
#include <X11/Xatom.h>
#include <X11/Xlib.h>
#include <limits.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static Display *d;
static Window own;
static Atom aware, selection, enter, position, status, leave, drop, finished, copy, uris;

static void tell(Window to, Atom what, long l1, long l2, long l3, long l4)
{
    XEvent ev = {0};

    ev.xclient.type = ClientMessage;
    ev.xclient.display = d;
    ev.xclient.window = to;
    ev.xclient.message_type = what;
    ev.xclient.format = 32;
    ev.xclient.data.l[0] = (long)own;
    ev.xclient.data.l[1] = l1;
    ev.xclient.data.l[2] = l2;
    ev.xclient.data.l[3] = l3;
    ev.xclient.data.l[4] = l4;
    XSendEvent(d, to, False, NoEventMask, &ev);
    XFlush(d);
}

static bool is_aware(Window w)
{
    Atom type;
    int format;
    unsigned long n = 0, more;
    unsigned char *data = NULL;

    if (XGetWindowProperty(d, w, aware, 0, 1, False, AnyPropertyType, &type, &format, &n, &more, &data) != Success)
        return false;
    if (data != NULL)
        XFree(data);
    return n > 0;
}

/* The outermost window below the pointer that takes drops; None. */
static Window below(int x, int y)
{
    Window at = DefaultRootWindow(d), child = None;
    int rx, ry;

    while (XTranslateCoordinates(d, DefaultRootWindow(d), at, x, y, &rx, &ry, &child) && child != None && child != own) {
        if (is_aware(child))
            return child;
        at = child;
    }
    return None;
}

static void answer(const XSelectionRequestEvent *r, const char *list)
{
    XEvent ev = {0};

    ev.xselection.type = SelectionNotify;
    ev.xselection.display = d;
    ev.xselection.requestor = r->requestor;
    ev.xselection.selection = r->selection;
    ev.xselection.target = r->target;
    ev.xselection.time = r->time;
    if (r->target == uris) {
        XChangeProperty(d, r->requestor, r->property, uris, 8, PropModeReplace, (const unsigned char *)list, (int)strlen(list));
        ev.xselection.property = r->property;
    }
    XSendEvent(d, r->requestor, False, NoEventMask, &ev);
    XFlush(d);
}

int main(int argc, char **argv)
{
    static char list[64 * 1024];
    Window target = None;
    bool dragging = false;

    if (argc < 4 || (d = XOpenDisplay(NULL)) == NULL) {
        fprintf(stderr, "drag_files X Y FILE..., on an X display\n");
        return 1;
    }
    for (int i = 3; i < argc; i++) {
        char path[PATH_MAX];

        if (realpath(argv[i], path) == NULL || strlen(list) + strlen(path) + 12 > sizeof list) {
            fprintf(stderr, "drag_files: %s cannot be dragged\n", argv[i]);
            return 1;
        }
        sprintf(list + strlen(list), "file://%s\r\n", path);
    }
    aware = XInternAtom(d, "XdndAware", False), selection = XInternAtom(d, "XdndSelection", False), enter = XInternAtom(d, "XdndEnter", False);
    position = XInternAtom(d, "XdndPosition", False), status = XInternAtom(d, "XdndStatus", False), leave = XInternAtom(d, "XdndLeave", False);
    drop = XInternAtom(d, "XdndDrop", False), finished = XInternAtom(d, "XdndFinished", False), copy = XInternAtom(d, "XdndActionCopy", False);
    uris = XInternAtom(d, "text/uri-list", False);
    own = XCreateSimpleWindow(d, DefaultRootWindow(d), atoi(argv[1]), atoi(argv[2]), 80, 60, 0, 0, 0xcccccc);
    XStoreName(d, own, "drag_files");
    XSelectInput(d, own, ButtonPressMask | ButtonReleaseMask | PointerMotionMask);
    XMapWindow(d, own);
    for (;;) {
        XEvent ev;

        XNextEvent(d, &ev);
        if (ev.type == ButtonPress) { /* the pointer stays ours until it is let go */
            dragging = true;
            XSetSelectionOwner(d, selection, own, ev.xbutton.time);
        } else if (ev.type == MotionNotify && dragging) {
            Window now = below(ev.xmotion.x_root, ev.xmotion.y_root);

            if (now != target && target != None)
                tell(target, leave, 0, 0, 0, 0);
            if (now != target && now != None)
                tell(now, enter, 5L << 24, (long)uris, None, None);
            target = now;
            if (target != None)
                tell(target, position, 0, (long)ev.xmotion.x_root << 16 | ev.xmotion.y_root, (long)ev.xmotion.time, (long)copy);
        } else if (ev.type == ButtonRelease && dragging) {
            dragging = false;
            if (target != None)
                tell(target, drop, 0, (long)ev.xbutton.time, 0, 0);
        } else if (ev.type == SelectionRequest) {
            answer(&ev.xselectionrequest, list);
        } else if (ev.type == ClientMessage && ev.xclient.message_type == finished) {
            return (ev.xclient.data.l[1] & 1) != 0 ? 0 : 1;
        }
    }
}
