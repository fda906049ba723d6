using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files.Below;

/// <summary>
/// The calls of the C library that work on a name inside an open folder (openat(2) and its like), with the numbers of Linux's
/// generic ABI and those in which ARM differs.
/// </summary>
internal static unsafe partial class FileCalls
{
    private const string Library = "libc";

    public const int O_RDONLY = 0, O_WRONLY = 0x1, O_CREAT = 0x40,
        O_EXCL = 0x80, O_APPEND = 0x400, O_NONBLOCK = 0x800, O_CLOEXEC = 0x80000, O_PATH = 0x200000;
    public const int AT_FDCWD = -100, AT_SYMLINK_NOFOLLOW = 0x100, AT_EMPTY_PATH = 0x1000;
    public const int ENOENT = 2, EINTR = 4, EACCES = 13, EEXIST = 17, ENOTDIR = 20, ELOOP = 40, EPERM = 1;
    private const uint STATX_TYPE = 1;
    private const int ModeAt = 28, StatusBytes = 256, TypeMask = 0xF000;

    private static readonly bool s_arm = RuntimeInformation.ProcessArchitecture is Architecture.Arm or Architecture.Arm64;

    public static int O_DIRECTORY => s_arm ? 0x4000 : 0x10000;
    public static int O_NOFOLLOW => s_arm ? 0x8000 : 0x20000;

    /// <summary>Whether this system is one whose numbers these are. Elsewhere nothing in this class may be called.</summary>
    public static bool IsAvailable { get; } = OperatingSystem.IsLinux() && RuntimeInformation.ProcessArchitecture
        is Architecture.X64 or Architecture.X86 or Architecture.Arm64
        or Architecture.Arm or Architecture.RiscV64 or Architecture.LoongArch64;

    [LibraryImport(Library, EntryPoint = "openat", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int OpenAt(int folder, string name, int flags, uint mode);

    [LibraryImport(Library, EntryPoint = "mkdirat", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int MakeFolderAt(SafeFileHandle folder, string name, uint mode);

    [LibraryImport(Library, EntryPoint = "renameat", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int RenameAt(SafeFileHandle fromFolder, string from, SafeFileHandle toFolder, string to);

    [LibraryImport(Library, EntryPoint = "unlinkat", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    public static partial int UnlinkAt(SafeFileHandle folder, string name, int flags);

    [LibraryImport(Library, EntryPoint = "statx", SetLastError = true, StringMarshalling = StringMarshalling.Utf8)]
    private static partial int Statx(int folder, string name, int flags, uint mask, byte* status);

    /// <summary>A folder that is not below another open one.</summary>
    public static SafeFileHandle? OpenFolder(string path, out int error) =>
        Open(AT_FDCWD, path, O_PATH | O_DIRECTORY | O_CLOEXEC, out error);

    /// <param name="flags">Besides those that keep links out.</param>
    public static SafeFileHandle? Open(SafeFileHandle folder, string name, int flags, out int error)
    {
        bool held = false;
        folder.DangerousAddRef(ref held);
        try { return Open((int)folder.DangerousGetHandle(), name, flags | O_NOFOLLOW | O_CLOEXEC, out error); }
        finally { folder.DangerousRelease(); }
    }

    /// <summary>Of what a path leads to, links followed.</summary>
    public static EntryKind KindOfTarget(string path) => KindOf(AT_FDCWD, path, 0);

    /// <param name="name">"": the folder, or the open file, itself.</param>
    public static EntryKind KindOf(SafeFileHandle folder, string name)
    {
        bool held = false;
        folder.DangerousAddRef(ref held);
        try
        {
            return KindOf((int)folder.DangerousGetHandle(), name, AT_SYMLINK_NOFOLLOW | (name.Length == 0 ? AT_EMPTY_PATH : 0));
        }
        finally { folder.DangerousRelease(); }
    }

    private static EntryKind KindOf(int folder, string name, int flags)
    {
        byte* status = stackalloc byte[StatusBytes];
        // struct statx has one layout on all architectures (statx(2)); the types are those of inode(7).
        if (Statx(folder, name, flags, STATX_TYPE, status) < 0) { return EntryKind.Absent; }
        return (*(ushort*)(status + ModeAt) & TypeMask) switch
        {
            0x8000 => EntryKind.File,
            0x4000 => EntryKind.Folder,
            0xA000 => EntryKind.Link,
            0x1000 => EntryKind.Fifo,
            0xC000 => EntryKind.Socket,
            _ => EntryKind.Device,
        };
    }

    private static SafeFileHandle? Open(int folder, string name, int flags, out int error)
    {
        const uint readWriteAsUmaskAllows = 0x1B6;
        while (true)
        {
            int descriptor = OpenAt(folder, name, flags, readWriteAsUmaskAllows);
            error = descriptor < 0 ? Marshal.GetLastPInvokeError() : 0;
            if (error != EINTR) { return descriptor < 0 ? null : new SafeFileHandle(descriptor, ownsHandle: true); }
        }
    }
}
