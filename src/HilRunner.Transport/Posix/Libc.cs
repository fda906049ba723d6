using System.Runtime.InteropServices;

namespace HilRunner.Transport.Posix;

/// <summary>
/// The calls of the C library that links need, with the numbers of Linux's generic ABI (x86, ARM, RISC-V; see
/// <see cref="IsAvailable"/>). Each call that can fail leaves its error in <see cref="Errno"/>.
/// </summary>
internal static unsafe partial class Libc
{
    private const string Library = "libc";

    public const int O_RDWR = 0x2, O_NOCTTY = 0x100, O_NONBLOCK = 0x800, O_CLOEXEC = 0x80000;
    public static readonly int O_NOFOLLOW = RuntimeInformation.ProcessArchitecture is Architecture.Arm64 or Architecture.Arm
        ? 0x8000 : 0x20000;
    public const int F_GETFL = 3, F_SETFL = 4;
    public const int LOCK_SH = 1, LOCK_EX = 2, LOCK_NB = 4;
    public const int EFD_CLOEXEC = 0x80000, EFD_NONBLOCK = 0x800;
    public const short POLLIN = 0x1, POLLOUT = 0x4, POLLERR = 0x8, POLLHUP = 0x10, POLLNVAL = 0x20;

    public const nuint TCFLSH = 0x540B, TIOCEXCL = 0x540C, TIOCNXCL = 0x540D, TIOCOUTQ = 0x5411;
    public const nuint TIOCMGET = 0x5415, TIOCMBIS = 0x5416, TIOCMBIC = 0x5417, TIOCGEXCL = 0x80045440;
    public const nuint TIOCSPTLCK = 0x40045431, TIOCGPTN = 0x80045430, TCGETS2 = 0x802C542A, TCSETS2 = 0x402C542B;
    public const int TIOCM_DTR = 0x2, TIOCM_RTS = 0x4;
    public const nint TCOFLUSH = 1;

    /// <summary>Whether this system is one whose numbers these are. Elsewhere nothing in this class may be called.</summary>
    public static bool IsAvailable { get; } = OperatingSystem.IsLinux() && RuntimeInformation.ProcessArchitecture
        is Architecture.X64 or Architecture.X86 or Architecture.Arm64 or Architecture.Arm or Architecture.RiscV64 or Architecture.LoongArch64;

    public static Errno LastError => (Errno)Marshal.GetLastPInvokeError();

    [LibraryImport(Library, EntryPoint = "open", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int Open(string path, int flags);

    [LibraryImport(Library, EntryPoint = "close", SetLastError = true)]
    public static partial int Close(int descriptor);

    [LibraryImport(Library, EntryPoint = "read", SetLastError = true)]
    public static partial nint Read(int descriptor, byte* buffer, nuint count);

    [LibraryImport(Library, EntryPoint = "write", SetLastError = true)]
    public static partial nint Write(int descriptor, byte* buffer, nuint count);

    [LibraryImport(Library, EntryPoint = "poll", SetLastError = true)]
    public static partial int Poll(PollEntry* entries, nuint count, int timeoutMs);

    [LibraryImport(Library, EntryPoint = "eventfd", SetLastError = true)]
    public static partial int EventFd(uint initial, int flags);

    [LibraryImport(Library, EntryPoint = "fcntl", SetLastError = true)]
    public static partial int Fcntl(int descriptor, int command, nint argument);

    [LibraryImport(Library, EntryPoint = "flock", SetLastError = true)]
    public static partial int Flock(int descriptor, int operation);

    /// <summary>Number of the user whose rights this process has; 0 where that is not known.</summary>
    public static uint EffectiveUser => IsAvailable ? GetEffectiveUser() : 0;

    [LibraryImport(Library, EntryPoint = "geteuid")]
    private static partial uint GetEffectiveUser();

    [LibraryImport(Library, EntryPoint = "ioctl", SetLastError = true)]
    public static partial int Ioctl(int descriptor, nuint request, void* argument);

    [LibraryImport(Library, EntryPoint = "statx", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int Statx(int directory, string path, int flags, uint mask, FileStatus.Raw* status);
}

/// <summary>struct pollfd.</summary>
[StructLayout(LayoutKind.Sequential)]
internal struct PollEntry(int descriptor, short events)
{
    public int Descriptor = descriptor;
    public short Events = events;
    public short Found;

    /// <summary>The other end hung up, or the descriptor is in error.</summary>
    public readonly bool HungUp => (Found & (Libc.POLLHUP | Libc.POLLERR | Libc.POLLNVAL)) != 0;
}

/// <summary>Error numbers of Linux's generic ABI, as far as links tell them apart.</summary>
internal enum Errno
{
    None = 0, EPERM = 1, ENOENT = 2, EINTR = 4, EIO = 5,
        ENXIO = 6, EBADF = 9, EAGAIN = 11, EACCES = 13, EBUSY = 16, ENODEV = 19, ENOTDIR = 20,
    EISDIR = 21, EINVAL = 22, ENOTTY = 25, EPIPE = 32, ELOOP = 40, ECONNRESET = 104,
}
