using System.Runtime.InteropServices;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files.Below;

/// <summary>By the open folder, so that nobody who changes a path meanwhile leads it elsewhere.</summary>
internal sealed class PosixEntry : Entry
{
    private const uint AllAsUmaskAllows = 0x1FF;
    private readonly SafeFileHandle _folder;

    public PosixEntry(string path) : base(path)
    {
        var (named, between) = Way(path);
        SafeFileHandle folder = FileCalls.OpenFolder(named, out int error) ?? throw Missing(named, error);
        foreach (string name in between)
        {
            named = Path.Combine(named, name);
            var next = FileCalls.Open(folder, name, FileCalls.O_PATH | FileCalls.O_DIRECTORY, out error);
            EntryKind kind = next is null ? FileCalls.KindOf(folder, name) : EntryKind.Folder;
            folder.Dispose();
            folder = next
                ?? throw (kind is EntryKind.Absent or EntryKind.Folder
                    ? Missing(named, error) : Refused(named, kind, "a folder"));
        }
        _folder = folder;
    }

    public override EntryKind Kind => FileCalls.KindOf(_folder, Name);

    public override SafeFileHandle Open(Opening opening)
    {
        // What is no file is refused before it is opened: opening a device or a FIFO may already do something.
        if (opening != Opening.New) { RefuseUnlessFile(Kind); }
        var handle = Open(Name, opening switch
        {
            Opening.Read => FileCalls.O_RDONLY | FileCalls.O_NONBLOCK,
            Opening.New => FileCalls.O_WRONLY | FileCalls.O_CREAT | FileCalls.O_EXCL,
            _ => FileCalls.O_WRONLY | FileCalls.O_CREAT | FileCalls.O_APPEND | FileCalls.O_NONBLOCK,
        });
        EntryKind opened = FileCalls.KindOf(handle, "");
        if (opened == EntryKind.File) { return handle; }
        handle.Dispose();
        throw Refused(FullPath, opened, "a plain file");
    }

    public override SafeFileHandle OpenBeside(string name) =>
        Open(name, FileCalls.O_WRONLY | FileCalls.O_CREAT | FileCalls.O_EXCL);

    public override void TakeFrom(string name)
    {
        if (FileCalls.RenameAt(_folder, name, _folder, Name) < 0) { throw Fault(FullPath, Marshal.GetLastPInvokeError()); }
    }

    public override void DeleteBeside(string name) => _ = FileCalls.UnlinkAt(_folder, name, 0);

    public override void MakeFolder()
    {
        if (FileCalls.MakeFolderAt(_folder, Name, AllAsUmaskAllows) == 0) { return; }
        int error = Marshal.GetLastPInvokeError();
        if (error != FileCalls.EEXIST) { throw Fault(FullPath, error); }
        if (Kind is var kind and not EntryKind.Folder) { throw Refused(FullPath, kind, "a folder, or a name that is free"); }
    }

    public override void Dispose() => _folder.Dispose();

    private SafeFileHandle Open(string name, int flags)
    {
        if (FileCalls.Open(_folder, name, flags, out int error) is { } handle) { return handle; }
        if (error is FileCalls.ELOOP) { throw Refused(FullPath, EntryKind.Link, "a plain file"); }
        if (error == FileCalls.EEXIST && FileCalls.KindOf(_folder, name) is var kind and not EntryKind.File)
        {
            throw Refused(FullPath, kind, "a name that is free");
        }
        throw Fault(FullPath, error);
    }

    private static Exception Missing(string folder, int error) => error switch
    {
        FileCalls.ENOENT => new DirectoryNotFoundException($"{folder}: no such folder"),
        FileCalls.ENOTDIR => new DirectoryNotFoundException($"{folder}: is no folder"),
        _ => Fault(folder, error),
    };

    private static Exception Fault(string path, int error) => error switch
    {
        FileCalls.ENOENT => new FileNotFoundException($"{path}: no such file", path),
        FileCalls.EACCES or FileCalls.EPERM =>
            new UnauthorizedAccessException($"{path}: {Marshal.GetPInvokeErrorMessage(error)}"),
        FileCalls.EEXIST => new IOException($"{path} exists; nothing is overwritten"),
        _ => new IOException($"{path}: {Marshal.GetPInvokeErrorMessage(error)}"),
    };
}
