using System.Globalization;
using HilRunner.Core.Links;
using HilRunner.Core.Time;
using HilRunner.Transport.Posix;

namespace HilRunner.Transport.Links;

/// <summary>
/// The device's side of a new pseudo-terminal: what is written here can be read at <see cref="Path"/>, and the reverse. It is
/// there before anybody opens the path and stays when a client closes it: that is no loss on this side. What is written while
/// nobody listens waits in the terminal's buffer (some KiB) for the next client; then a write waits, up to its limit.
/// </summary>
public sealed class PtyHost : ILink
{
    private readonly DescriptorLink _link;
    private readonly Descriptor _slave;

    private PtyHost(DescriptorLink link, Descriptor slave, string path) => (_link, _slave, Path) = (link, slave, path);

    /// <summary>What the other side opens. Raw, without echo, from the start.</summary>
    public string Path { get; }

    public string Name => Path;

    /// <exception cref="LinkException">Unsupported: this system has no pseudo-terminals, or no more of them.</exception>
    public static PtyHost Create(HostClock clock)
    {
        PosixOnly.Check("a new pseudo-terminal");
        Descriptor master = OpenOwn("/dev/ptmx");
        try
        {
            string path = Unlock(master);
            Descriptor slave = OpenOwn(path);
            Errno error = Termios2.Get(slave.Number, out Termios2 settings);
            settings.MakeRaw();
            if (error == Errno.None) { error = Termios2.Set(slave.Number, settings); }
            if (error != Errno.None)
            {
                slave.Dispose();
                throw new LinkException(LinkFault.Unsupported, $"{path}: the pseudo-terminal cannot be made raw ({error})");
            }
            return new(new DescriptorLink(path, clock, master), slave, path);
        }
        catch
        {
            master.Dispose();
            throw;
        }
    }

    public void Start(ILinkReceiver receiver) => _link.Start(receiver);

    public HostTime Write(ReadOnlySpan<byte> bytes, TimeSpan limit) => _link.Write(bytes, limit);

    /// <summary>Gone at once, as when a cable is pulled: the other side gets a hang-up. The receiver here hears nothing more.</summary>
    public void Vanish() => Dispose();

    public void Dispose()
    {
        _link.Dispose();
        _slave.Dispose();
    }

    private static Descriptor OpenOwn(string path)
    {
        int number = Libc.Open(path, Libc.O_RDWR | Libc.O_NOCTTY | Libc.O_NONBLOCK | Libc.O_CLOEXEC);
        if (number >= 0) { return new(number); }
        throw new LinkException(LinkFault.Unsupported,
            $"{path}: a new pseudo-terminal cannot be opened ({Libc.LastError}); is /dev/pts mounted, and is kernel.pty.max reached?");
    }

    private static unsafe string Unlock(Descriptor master)
    {
        int locked = 0;
        int number = 0;
        if (Libc.Ioctl(master.Number, Libc.TIOCSPTLCK, &locked) < 0 || Libc.Ioctl(master.Number, Libc.TIOCGPTN, &number) < 0)
        {
            throw new LinkException(LinkFault.Unsupported, $"/dev/ptmx: the new pseudo-terminal has no name ({Libc.LastError})");
        }
        return string.Create(CultureInfo.InvariantCulture, $"/dev/pts/{number}");
    }
}
