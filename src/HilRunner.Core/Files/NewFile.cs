using System.Security.Cryptography;
using HilRunner.Core.Files.Below;

namespace HilRunner.Core.Files;

/// <summary>
/// A file that appears under its name when it is whole. Until then it stands beside it under a name that nobody can guess, made
/// anew.
/// </summary>
public sealed class NewFile : IDisposable
{
    private const int NameBytes = 8;
    private readonly Entry _entry;
    private readonly string _name;
    private bool _whole;

    /// <param name="path">What stands there is replaced, where it is a plain file.</param>
    /// <exception cref="BadInputException">
    /// It is a link below the folder that the person named, or neither plain file nor absent.
    /// </exception>
    /// <exception cref="IOException">It cannot be made.</exception>
    public NewFile(string path)
    {
        _entry = Entry.At(path);
        try
        {
            EntryKind kind = _entry.Kind;
            // A link that the person named is replaced, as any file, and what it leads to stays; a link to a device is not.
            if (kind == EntryKind.Link && NamedFolders.Has(path)
                && File.ResolveLinkTarget(path, returnFinalTarget: true) is { } target)
            {
                using var led = Entry.At(target.FullName);
                kind = led.Kind;
            }
            _entry.RefuseUnlessFile(kind);
            _name = $"{_entry.Name}.{Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(NameBytes))}.part";
            Stream = new FileStream(_entry.OpenBeside(_name), FileAccess.Write);
        }
        catch
        {
            _entry.Dispose();
            throw;
        }
    }

    public FileStream Stream { get; }

    /// <summary>Closes it and puts it under its name.</summary>
    public void Complete()
    {
        Stream.Dispose();
        _entry.TakeFrom(_name);
        _whole = true;
    }

    public void Dispose()
    {
        try { Stream.Dispose(); }
        finally
        {
            if (!_whole) { _entry.DeleteBeside(_name); }
            _entry.Dispose();
        }
    }
}
