using Microsoft.Win32.SafeHandles;

namespace HilRunner.Core.Files.Below;

/// <summary>
/// By paths and their attributes, where the system has no calls that work inside an open folder: between look and opening, who
/// may write to the folder could still change it.
/// </summary>
internal sealed class PortableEntry : Entry
{
    private readonly string _folder;

    public PortableEntry(string path) : base(path)
    {
        var (named, between) = Way(path);
        foreach (string name in between)
        {
            named = Path.Combine(named, name);
            if (KindOf(named) is var kind and not (EntryKind.Folder or EntryKind.Absent))
            {
                throw Refused(named, kind, "a folder");
            }
        }
        if (!Directory.Exists(named)) { throw new DirectoryNotFoundException($"{named}: no such folder"); }
        _folder = named;
    }

    public override EntryKind Kind => KindOf(Own);

    private string Own => Path.Combine(_folder, Name);

    public override SafeFileHandle Open(Opening opening)
    {
        RefuseUnlessFile(Kind);
        return opening switch
        {
            Opening.Read => File.OpenHandle(Own, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete),
            Opening.New => OpenBeside(Name),
            _ => File.OpenHandle(Own, FileMode.Append, FileAccess.Write, FileShare.ReadWrite | FileShare.Delete),
        };
    }

    public override SafeFileHandle OpenBeside(string name) =>
        File.OpenHandle(
            Path.Combine(_folder, name), FileMode.CreateNew, FileAccess.Write, FileShare.ReadWrite | FileShare.Delete);

    public override void TakeFrom(string name) => File.Move(Path.Combine(_folder, name), Own, overwrite: true);

    public override void DeleteBeside(string name) => File.Delete(Path.Combine(_folder, name));

    public override void MakeFolder()
    {
        if (Kind is var kind and not (EntryKind.Folder or EntryKind.Absent))
        {
            throw Refused(FullPath, kind, "a folder, or a name that is free");
        }
        Directory.CreateDirectory(Own);
    }

    public override void Dispose()
    {
    }

    private static EntryKind KindOf(string path)
    {
        var file = new FileInfo(path);
        if (file.LinkTarget is not null) { return EntryKind.Link; }
        if (Directory.Exists(path)) { return EntryKind.Folder; }
        if (!file.Exists) { return EntryKind.Absent; }
        return file.Attributes.HasFlag(FileAttributes.ReparsePoint)
            ? EntryKind.Link : file.Attributes.HasFlag(FileAttributes.Device) ? EntryKind.Device : EntryKind.File;
    }
}
