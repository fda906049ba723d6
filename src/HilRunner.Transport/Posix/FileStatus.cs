using System.Runtime.InteropServices;

namespace HilRunner.Transport.Posix;

/// <summary>
/// What a path leads to (symbolic links followed), or what a descriptor is open on, by statx(2), whose layout is the same on all
/// architectures.
/// </summary>
/// <param name="DeviceMajor">Of a device file.</param>
/// <param name="Inode">What the file is, within its file system.</param>
/// <param name="ModifiedS">When its content was changed last, in seconds of the Unix epoch.</param>
internal readonly record struct FileStatus(
    int Mode, uint Owner, uint Group, uint DeviceMajor, uint DeviceMinor, ulong Inode = 0, long ModifiedS = 0)
{
    private const int AT_FDCWD = -100, AT_EMPTY_PATH = 0x1000, AT_SYMLINK_NOFOLLOW = 0x100;
    private const uint STATX_BASIC_STATS = 0x7FF;
    private const int TypeMask = 0xF000;

    public bool IsDirectory => (Mode & TypeMask) == 0x4000;
    public bool IsRegularFile => (Mode & TypeMask) == 0x8000;
    public bool IsCharacterDevice => (Mode & TypeMask) == 0x2000;

    /// <summary>The permission bits: 0o660 and the like.</summary>
    public int Permissions => Mode & 0xFFF;

    /// <summary>Majors 136 to 143 are Unix98 pseudo-terminals (Linux, Documentation/admin-guide/devices.txt).</summary>
    public bool IsPseudoTerminal => IsCharacterDevice && DeviceMajor is >= 136 and <= 143;

    /// <summary>Virtual consoles (4:0 to 4:63), /dev/tty, /dev/console and /dev/ptmx (5:0 to 5:2); same source.</summary>
    public bool IsConsole => IsCharacterDevice && (DeviceMajor, DeviceMinor) is (4, < 64) or (5, <= 2);

    /// <summary>Whoever may write to this folder may remove only what is theirs.</summary>
    public bool IsSharedFolder => IsDirectory && (Permissions & 0x202) == 0x202;

    public static Errno Of(string path, out FileStatus status) => Of(AT_FDCWD, path, 0, out status);

    /// <summary>Of the path itself, where it is a link too.</summary>
    public static Errno OfItself(string path, out FileStatus status) => Of(AT_FDCWD, path, AT_SYMLINK_NOFOLLOW, out status);

    public static Errno Of(int descriptor, out FileStatus status) => Of(descriptor, "", AT_EMPTY_PATH, out status);

    private static unsafe Errno Of(int folder, string path, int flags, out FileStatus status)
    {
        Raw raw;
        if (Libc.Statx(folder, path, flags, STATX_BASIC_STATS, &raw) < 0)
        {
            status = default;
            return Libc.LastError;
        }
        status = new(raw.Mode, raw.Owner, raw.Group, raw.DeviceMajor, raw.DeviceMinor, raw.Inode, raw.ModifiedS);
        return Errno.None;
    }

    /// <summary>struct statx, the fields that are used.</summary>
    [StructLayout(LayoutKind.Explicit, Size = 256)]
    internal struct Raw
    {
        [FieldOffset(20)] public uint Owner;
        [FieldOffset(24)] public uint Group;
        [FieldOffset(28)] public ushort Mode;
        [FieldOffset(32)] public ulong Inode;
        [FieldOffset(112)] public long ModifiedS;
        [FieldOffset(128)] public uint DeviceMajor;
        [FieldOffset(132)] public uint DeviceMinor;
    }
}
