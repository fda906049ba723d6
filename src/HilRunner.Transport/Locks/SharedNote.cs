using System.Text;
using HilRunner.Transport.Posix;
using Microsoft.Win32.SafeHandles;

namespace HilRunner.Transport.Locks;

/// <summary>What a note says, and the number of the user who left it.</summary>
public readonly record struct ForeignNote(string Text, uint User);

/// <summary>
/// A short line of text about something that is shared, left for whoever uses it next, as which user ever. Each user's calls
/// write files of their own; who reads weighs what all of them say, since anybody may leave one.
/// </summary>
/// <param name="name">What it is about: letters, digits and hyphens.</param>
public sealed class SharedNote(LockFolder folder, string name) : IDisposable
{
    /// <summary>
    /// Bytes of a note, its line end included; each write fills them all, so that nothing of an older one is left.
    /// </summary>
    private const int Length = 96;
    private const string Suffix = ".note";
    private string? _path;
    private SafeFileHandle? _file;

    /// <summary>All that there are, in no order. What is longer than a note, or no text, is none.</summary>
    public IReadOnlyList<ForeignNote> Read()
    {
        var notes = new List<ForeignNote>();
        Span<byte> bytes = stackalloc byte[Length + 1];
        foreach (string path in Files())
        {
            using var file = LockFolder.OpenForeign(path, out FileStatus status);
            if (file is null) { continue; }
            int length = RandomAccess.Read(file, bytes, 0);
            if (length is > 0 and <= Length
                && !bytes[..length].TrimEnd((byte)'\n').ContainsAnyExceptInRange((byte)' ', (byte)'~'))
            {
                notes.Add(new(Encoding.ASCII.GetString(bytes[..length]).Trim(), status.Owner));
            }
        }
        return notes;
    }

    /// <summary>Takes the place of what calls of this user left.</summary>
    /// <param name="text">Printable ASCII.</param>
    /// <exception cref="IOException">It cannot be written.</exception>
    /// <exception cref="UnauthorizedAccessException">Nor may it.</exception>
    public void Write(string text)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(text.Length, Length);
        bool first = _file is null;
        if (_file is null) { (_path, _file) = folder.Create($"hil-{name}-", Suffix); }
        RandomAccess.Write(_file, Encoding.ASCII.GetBytes(text.PadRight(Length - 1) + "\n"), 0);
        if (first) { RemoveOlder(); }
    }

    /// <summary>The note stays.</summary>
    public void Dispose() => _file?.Dispose();

    private IEnumerable<string> Files() => folder.Names($"hil-{name}-").Where(p => p.EndsWith(Suffix, StringComparison.Ordinal));

    private void RemoveOlder()
    {
        foreach (string path in Files().Where(p => p != _path))
        {
            using var file = LockFolder.OpenForeign(path, out FileStatus status);
            if (file is null || status.Owner != Libc.EffectiveUser) { continue; }
            try { File.Delete(path); }
            catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
            {
                // It says less than this one.
            }
        }
    }
}
