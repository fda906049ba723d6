using System.Globalization;
using HilRunner.Core.Files;

namespace HilRunner.Application.Recorders;

/// <summary>The files of a recording: NAME.csv with its labels and side file, further parts as NAME-2.csv …, and NAME.pcapng.</summary>
/// <param name="Folder">Absolute.</param>
internal sealed record RecordingTarget(string Folder, string Name)
{
    public string Data => Path.Combine(Folder, Name + ".csv");
    public string CaptureName => Name + ".pcapng";
    public string Capture => Path.Combine(Folder, CaptureName);

    /// <summary>Makes the folder. Nothing that exists is ever overwritten.</summary>
    /// <param name="asked">NAME or NAME.csv, perhaps in a folder; null: the rig's name and the time.</param>
    /// <exception cref="UsageException">There is something of that name.</exception>
    public static RecordingTarget Of(string? asked, string rigName, DateTimeOffset now)
    {
        string path = Path.GetFullPath(asked ?? $"{Slug.Of(rigName)}-{now.UtcDateTime.ToString("yyyyMMdd'T'HHmmss'Z'", CultureInfo.InvariantCulture)}");
        if (path.EndsWith(".csv", StringComparison.Ordinal)) { path = path[..^4]; }
        string folder = Path.GetDirectoryName(path)!, name = Path.GetFileName(path);
        if (name.Length == 0 || Directory.Exists(path)) { throw new UsageException($"--out {asked}: a folder; expected a name such as recordings/morning"); }
        PlainFile.CreateFolder(folder);
        string? there = Directory.EnumerateFiles(folder, name + "*")
            .FirstOrDefault(f => Taken(Path.GetFileName(f)[name.Length..]));
        return there is null ? new(folder, name) : throw new UsageException($"--out {asked ?? name}: {there} exists; no recording is overwritten: take another name");
    }

    /// <summary>.csv .yaml .labels.csv .pcapng, and those of further parts.</summary>
    private static bool Taken(string rest)
    {
        int dot = rest.IndexOf('.', StringComparison.Ordinal);
        bool ours = dot == 0 || (dot > 1 && rest[0] == '-' && rest[1..dot].All(char.IsAsciiDigit));
        return ours && rest[(dot + 1)..] is "csv" or "yaml" or "labels.csv" or "pcapng";
    }
}
