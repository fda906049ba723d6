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

    /// <summary>The same speed both ways, exactly as given.</summary>
    public void SetSpeed(uint baud)
    {
        ControlFlags = (ControlFlags & ~(CBAUD | CIBAUD)) | BOTHER | (BOTHER << 16);
        InputSpeed = OutputSpeed = baud;
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
