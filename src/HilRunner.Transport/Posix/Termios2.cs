using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;

namespace HilRunner.Transport.Posix;

/// <summary>
/// struct termios2 (Linux, asm-generic/termbits.h): a terminal's settings with speeds as plain numbers. It is read and
/// written on a descriptor; the settings belong to the terminal.
/// </summary>
[StructLayout(LayoutKind.Sequential)]
internal struct Termios2
{
    public const uint IGNBRK = 0x1, BRKINT = 0x2, PARMRK = 0x8, INPCK = 0x10, ISTRIP = 0x20, INLCR = 0x40, IGNCR = 0x80, ICRNL = 0x100;
    public const uint IXON = 0x400, IXANY = 0x800, IXOFF = 0x1000;
    public const uint OPOST = 0x1;
    public const uint ISIG = 0x1, ICANON = 0x2, ECHO = 0x8, ECHONL = 0x40, IEXTEN = 0x8000;
    public const uint CSIZE = 0x30, CS5 = 0x0, CS6 = 0x10, CS7 = 0x20, CS8 = 0x30, CSTOPB = 0x40, CREAD = 0x80, PARENB = 0x100;
    public const uint PARODD = 0x200, HUPCL = 0x400, CLOCAL = 0x800, CBAUD = 0x100F, BOTHER = 0x1000, CIBAUD = CBAUD << 16;
    public const uint CMSPAR = 0x40000000, CRTSCTS = 0x80000000;
    /// <summary>B50 = 1 to B38400 = 15.</summary>
    private static readonly uint[] LowSpeeds = [50, 75, 110, 134, 150, 200, 300, 600, 1200, 1800, 2400, 4800, 9600, 19_200, 38_400];
    /// <summary>B57600 = 0x1001 to B4000000 = 0x100F.</summary>
    private static readonly uint[] HighSpeeds = [57_600, 115_200, 230_400, 460_800, 500_000, 576_000, 921_600, 1_000_000, 1_152_000,
        1_500_000, 2_000_000, 2_500_000, 3_000_000, 3_500_000, 4_000_000];
    private const int VTIME = 5, VMIN = 6, VSTART = 8, VSTOP = 9;

    public uint InputFlags;
    public uint OutputFlags;
    public uint ControlFlags;
    public uint LocalFlags;
    private byte _lineDiscipline;
    private ControlCharacters _characters;
    public uint InputSpeed;
    public uint OutputSpeed;

    [InlineArray(19)]
    private struct ControlCharacters
    {
        private byte _first;
    }

    /// <summary>
    /// Bytes pass as they are, both ways: no echo, no signals, no translation (cfmakeraw), no flow control by bytes, modem
    /// lines not waited for. A read waits for one byte, so that 0 bytes can only mean a hang-up.
    /// </summary>
    public void MakeRaw()
    {
        InputFlags &= ~(IGNBRK | BRKINT | PARMRK | INPCK | ISTRIP | INLCR | IGNCR | ICRNL | IXON | IXANY | IXOFF);
        OutputFlags &= ~OPOST;
        LocalFlags &= ~(ECHO | ECHONL | ICANON | ISIG | IEXTEN);
        ControlFlags = (ControlFlags & ~(CSIZE | PARENB)) | CS8 | CREAD | CLOCAL;
        _characters[VMIN] = 1;
        _characters[VTIME] = 0;
    }

    /// <summary>The same speed both ways, exactly as given; by its old code where it has one, for programs that know only those.</summary>
    public void SetSpeed(uint baud)
    {
        // No code for the input speed: as the output (termios(3)).
        ControlFlags = (ControlFlags & ~(CBAUD | CIBAUD)) | CodeOf(baud);
        InputSpeed = OutputSpeed = baud;
    }

    private static uint CodeOf(uint baud)
    {
        int low = Array.IndexOf(LowSpeeds, baud);
        int high = Array.IndexOf(HighSpeeds, baud);
        return low >= 0 ? (uint)low + 1 : high >= 0 ? BOTHER + (uint)high + 1 : BOTHER;
    }

    /// <summary>XON is 0x11 and XOFF 0x13 (DC1 and DC3 of ISO/IEC 646).</summary>
    public void UseByteFlowControl()
    {
        InputFlags |= IXON | IXOFF;
        _characters[VSTART] = 0x11;
        _characters[VSTOP] = 0x13;
    }

    public static unsafe Errno Get(int descriptor, out Termios2 settings)
    {
        Termios2 read;
        Errno error = Libc.Ioctl(descriptor, Libc.TCGETS2, &read) < 0 ? Libc.LastError : Errno.None;
        settings = error == Errno.None ? read : default;
        return error;
    }

    public static unsafe Errno Set(int descriptor, in Termios2 settings)
    {
        Termios2 copy = settings;
        return Libc.Ioctl(descriptor, Libc.TCSETS2, &copy) < 0 ? Libc.LastError : Errno.None;
    }
}
