using HilRunner.Core;
using HilRunner.Device;
using HilRunner.Core.Links;
using HilRunner.Core.Documents;
using HilRunner.Core.Files;
using HilRunner.Core.Rigs;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Benches;

/// <summary>A rig with the file that describes it.</summary>
internal sealed record PlayedRig(Rig Rig, SourceDocument Document);

/// <summary>The rigs of a call: files, or folders of them, all of one kind.</summary>
internal static class RigFiles
{
    /// <param name="link">Another link than the rig's; only with one rig.</param>
    /// <exception cref="BadInputException">Every fault of every file, and rigs that are of another kind than the first.</exception>
    /// <exception cref="UsageException">A link for several rigs.</exception>
    public static IReadOnlyList<PlayedRig> Read(IReadOnlyList<string> paths, string? link)
    {
        var faults = new List<Fault>();
        var rigs = new List<PlayedRig>();
        List<string> files = [.. paths.SelectMany(p => Files(p, faults)).Distinct(StringComparer.Ordinal)];
        if (files.Count > 1 && link is not null) { throw new UsageException("--link names the link of one rig: give one --rig"); }
        foreach (string path in files)
        {
            try
            {
                string text = GivenFile.ReadText(path, RigFile.LargestBytes);
                rigs.Add(new(WithLink(RigFile.Parse(text, path), link), new(path, FileHash.Sha256OfText(text), text)));
            }
            catch (BadInputException bad) { faults.AddRange(bad.Faults); }
        }
        foreach (var rig in rigs.Skip(1))
        {
            if (Kind(rig.Rig) != Kind(rigs[0].Rig))
            {
                faults.Add(new(rig.Document.Path, 0, 0, $"a rig of another kind than {rigs[0].Document.Path}", "the same outputs, classes, rate, channels and pace: scenarios are shared out over rigs that are alike", "play the two apart"));
            }
            if (RigLock.NameOf(rig.Rig.Device.Link) is { } port && rigs.TakeWhile(r => r != rig).FirstOrDefault(r => RigLock.NameOf(r.Rig.Device.Link) == port) is { } other)
            {
                faults.Add(new(rig.Document.Path, 0, 0, $"a rig on {port}, as {other.Rig.Name} is", "a port for each"));
            }
            if (rigs.TakeWhile(r => r != rig).Any(r => r.Rig.Name == rig.Rig.Name)) { faults.Add(new(rig.Document.Path, 0, 0, $"a second rig named {rig.Rig.Name}", "a name for each")); }
        }
        return faults.Count > 0 ? throw new BadInputException(faults) : rigs;
    }

    /// <summary>Reads a rig file and puts another link in its place where one is given.</summary>
    /// <exception cref="BadInputException">Every fault of the file.</exception>
    /// <exception cref="UsageException">The URL cannot be understood.</exception>
    public static Rig Read(string path, string? linkUrl) => WithLink(RigFile.Read(path), linkUrl);

    /// <exception cref="UsageException">The URL cannot be understood.</exception>
    public static Rig WithLink(Rig rig, string? linkUrl) =>
        RigLink.Replaced(rig, linkUrl is null ? null : Parsed(linkUrl, rig.Device.Link));

    private static LinkSpec Parsed(string linkUrl, LinkSpec fromRig)
    {
        try { return LinkUrl.Parse(linkUrl, fromRig); }
        catch (BadInputException fault) { throw new UsageException(fault.Message); }
    }

    /// <summary>What a scenario, a limit and a speed can see of a rig.</summary>
    private static string Kind(Rig rig)
    {
        var device = rig.Device;
        return string.Join('\n', [
            .. device.Outputs, .. device.Classes.Select(c => $"{c.Key} {c.Value}"), device.Input.Rate.ToString()!, .. device.Input.Channels.Select(c => c.ToString()!), device.Pace.ToString(),
            (device.Says.Credit is not null).ToString(), device.StaleAfter.ToString()!, .. device.Says.Decisions.Select(d => RigFormats.GivesSampleNumber(d.Message).ToString()),
        ]);
    }

    private static IEnumerable<string> Files(string path, List<Fault> faults)
    {
        if (File.Exists(path)) { return [path]; }
        string[] files = Directory.Exists(path) ? [.. Directory.EnumerateFiles(path, "*.yaml").Where(f => DocumentKind.TryOf(f) == DocumentType.Rig).Order(StringComparer.Ordinal)] : [];
        if (files.Length == 0) { faults.Add(new(path, 0, 0, Directory.Exists(path) ? "a folder without rig files" : "no such file", "a rig file", "see rigs/README.md for how to write one")); }
        return files;
    }
}
