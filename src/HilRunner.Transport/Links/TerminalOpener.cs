using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Ports;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>Opens serial ports and pseudo-terminals by their own descriptor. Every way to fail has its own message.</summary>
internal sealed unsafe class TerminalOpener(HostClock clock, PortLister lister)
{
    /// <exception cref="LinkException"/>
    public ILink OpenSerial(SerialLinkSpec spec)
    {
        SerialSettings.Check(spec);
        string path = PortSelector.Resolve(spec.Port, lister);
        FileStatus status = PortAccess.Check(path, lister);
        return Open(path, status, terminal =>
        {
            Termios2 before = Read(path, terminal);
            Termios2 asked = SerialSettings.Apply(spec, before);
            Write(path, terminal, asked);
            // A pseudo-terminal has no wire: bits and parity mean nothing there.
            if (!status.IsPseudoTerminal) { SerialSettings.Verify(spec, asked, Read(path, terminal)); }
            SetLine(path, terminal, status, "DTR", Libc.TIOCM_DTR, spec.Dtr);
            SetLine(path, terminal, status, "RTS", Libc.TIOCM_RTS, spec.Rts);
        });
    }

    /// <exception cref="LinkException"/>
    public ILink OpenPty(PtyLinkSpec spec)
    {
        FileStatus status = PortAccess.Check(spec.Path, lister);
        if (!status.IsPseudoTerminal)
        {
            throw new LinkException(LinkFault.WrongKind, $"{spec.Path} is no pseudo-terminal; for a serial port write serial: in the rig file");
        }
        return Open(spec.Path, status, terminal =>
        {
            Termios2 settings = Read(spec.Path, terminal);
            settings.MakeRaw();
            Write(spec.Path, terminal, settings);
        });
    }

    private DescriptorLink Open(string path, FileStatus status, Action<int> configure)
    {
        int number = Libc.Open(path, Libc.O_RDWR | Libc.O_NOCTTY | Libc.O_NONBLOCK | Libc.O_CLOEXEC);
        if (number < 0) { throw PortAccess.Explain(path, Libc.LastError, status, lister); }
        var terminal = new Descriptor(number);
        try
        {
            // Before anything is changed: another program's port must not be disturbed.
            if (!TryTake(number, path, status))
            {
                terminal.Dispose();
                throw PortAccess.Busy(path);
            }
            configure(number);
            return new(path, clock, terminal);
        }
        catch
        {
            terminal.Dispose();
            throw;
        }
    }

    /// <summary>
    /// flock keeps out programs that ask for it, whoever runs them; TIOCEXCL keeps out all but root. The latter is left
    /// out on pseudo-terminals, where it would outlive a killed program.
    /// </summary>
    private static bool TryTake(int terminal, string path, FileStatus status)
    {
        int exclusive = 0;
        if (Libc.Ioctl(terminal, Libc.TIOCGEXCL, &exclusive) < 0)
        {
            Errno error = Libc.LastError;
            if (error == Errno.ENOTTY) { throw PortAccess.WrongKind(path, "no terminal"); }
        }
        if (exclusive != 0 || Libc.Flock(terminal, Libc.LOCK_EX | Libc.LOCK_NB) < 0) { return false; }
        if (!status.IsPseudoTerminal) { _ = Libc.Ioctl(terminal, Libc.TIOCEXCL, null); }
        return true;
    }

    private static Termios2 Read(string path, int terminal)
    {
        Errno error = Termios2.Get(terminal, out Termios2 settings);
        return error == Errno.None ? settings : throw Refused(path, error);
    }

    private static void Write(string path, int terminal, in Termios2 settings)
    {
        Errno error = Termios2.Set(terminal, settings);
        if (error != Errno.None) { throw Refused(path, error); }
    }

    private static LinkException Refused(string path, Errno error) => error switch
    {
        Errno.ENOTTY => PortAccess.WrongKind(path, "no terminal"),
        Errno.EIO or Errno.ENXIO or Errno.ENODEV => LinkErrors.Lost(path, error),
        _ => new(LinkFault.Unsupported, $"{path}: the port does not accept its settings ({error}); see baud, data bits, parity, stop bits and handshake in the rig file"),
    };

    private static void SetLine(string path, int terminal, FileStatus status, string name, int line, LineState state)
    {
        // A pseudo-terminal has no lines; there the wish has no meaning and does no harm.
        if (state == LineState.Leave || status.IsPseudoTerminal) { return; }
        if (Libc.Ioctl(terminal, state == LineState.On ? Libc.TIOCMBIS : Libc.TIOCMBIC, &line) < 0)
        {
            throw new LinkException(LinkFault.Unsupported,
                $"{path}: the line {name} cannot be set ({Libc.LastError}); write {name.ToLowerInvariant()}: leave in the rig file");
        }
    }
}
