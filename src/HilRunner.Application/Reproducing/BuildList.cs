using System.ComponentModel;
using System.Diagnostics;
using HilRunner.Core.Files;
using HilRunner.Core;

namespace HilRunner.Application.Reproducing;

/// <summary>Firmware images in their order, from one that is good to one that is bad: files, or revisions that a command makes images of.</summary>
internal sealed class BuildList
{
    private static readonly TimeSpan s_limit = TimeSpan.FromMinutes(30);
    private readonly IReadOnlyList<string> _entries;
    private readonly string? _make;
    private readonly Dictionary<int, string> _made = [];

    private BuildList(IReadOnlyList<string> entries, string? make) => (_entries, _make) = (entries, make);

    /// <summary>Where images go that are made.</summary>
    public string Folder { get; set; } = "";

    public int Count => _entries.Count;

    public IReadOnlyList<string> Names => [.. _entries.Select(Path.GetFileName)!];

    /// <param name="range">GOOD..BAD: names of files, or lines of the list.</param>
    /// <param name="images">A folder (its files by name, numbers by value) or a file that lists images or revisions, oldest first.</param>
    /// <param name="make">Makes an image of a revision: {revision} and {image} stand for them; null: the entries are images.</param>
    /// <exception cref="UsageException">One of the ends is not there, or they are in the wrong order.</exception>
    /// <exception cref="BadInputException">The folder or list cannot be read, or an image is not there.</exception>
    public static BuildList Of(string range, string images, string? make)
    {
        string[] ends = range.Split("..", 2);
        if (ends.Length < 2 || ends[0].Length == 0 || ends[1].Length == 0) { throw new UsageException($"--bisect {range}: expected GOOD..BAD, two of the images"); }
        List<string> all;
        if (Directory.Exists(images)) { all = [.. Directory.GetFiles(images).OrderBy(f => Path.GetFileName(f), NumbersByValue.Instance)]; }
        else if (File.Exists(images))
        {
            string at = Path.GetDirectoryName(Path.GetFullPath(images))!;
            all = [.. File.ReadAllLines(images).Select(l => l.Trim()).Where(l => l.Length > 0 && l[0] != '#').Select(l => make is null ? Path.Combine(at, l) : l)];
        }
        else { throw new BadInputException([new(images, 0, 0, "no such folder or file", "a folder of images, or a file that lists them, oldest first", "check --images")]); }
        int good = Find(all, ends[0], images), bad = Find(all, ends[1], images);
        if (good >= bad) { throw new UsageException($"--bisect {range}: {ends[1]} comes before {ends[0]} in {images}; expected the good one first, then the bad one"); }
        var between = all[good..(bad + 1)];
        if (make is null && between.Find(f => !File.Exists(f)) is { } absent) { throw new BadInputException([new(absent, 0, 0, "no such file", "a firmware image", $"correct {images}, or say --make")]); }
        if (make is not null && !(make.Contains("{revision}", StringComparison.Ordinal) && make.Contains("{image}", StringComparison.Ordinal))) { throw new UsageException($"--make {make}: expected a command with {{revision}} and {{image}}"); }
        return new(between, make);
    }

    /// <summary>The image's file, made where it has to be.</summary>
    /// <exception cref="IOException">It cannot be made.</exception>
    public string Image(int index)
    {
        if (_make is null) { return _entries[index]; }
        if (_made.TryGetValue(index, out string? there)) { return there; }
        string image = Path.Combine(PlainFile.CreateFolder(Folder), $"{index:000}-{Slug.Of(_entries[index])}.img");
        // Each word one argument, without a shell, as a rig's programs are run.
        string[] words = [.. _make.Split(' ', StringSplitOptions.RemoveEmptyEntries).Select(w => w.Replace("{revision}", _entries[index], StringComparison.Ordinal).Replace("{image}", image, StringComparison.Ordinal))];
        try
        {
            using var process = Process.Start(new ProcessStartInfo(words[0], words[1..]) { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true })!;
            process.StandardInput.Close();
            var (said, errors) = (process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
            if (!process.WaitForExit(s_limit))
            {
                process.Kill(entireProcessTree: true);
                throw new IOException($"--make for {_entries[index]} took longer than {s_limit.TotalMinutes} min and was ended");
            }
            string last = (said.Result + errors.Result).Split('\n', StringSplitOptions.RemoveEmptyEntries).LastOrDefault() ?? "";
            if (process.ExitCode != 0 || !File.Exists(image)) { throw new IOException($"--make for {_entries[index]} ended with {process.ExitCode}{(File.Exists(image) ? "" : " and wrote no image")}: {last}"); }
        }
        catch (Win32Exception fault) { throw new IOException($"--make: {words[0]} could not be started: {fault.Message}", fault); }
        return _made[index] = image;
    }

    private static int Find(List<string> all, string name, string images)
    {
        int at = all.FindIndex(f => f == name || Path.GetFileName(f) == name || Path.GetFileNameWithoutExtension(f) == name || Path.GetFullPath(f) == Path.GetFullPath(name));
        return at >= 0 ? at : throw new UsageException($"--bisect: {name} is not among the {all.Count} of {images}{(all.Count > 0 ? $", such as {Path.GetFileName(all[0])} and {Path.GetFileName(all[^1])}" : "")}");
    }

    /// <summary>build-9 before build-10.</summary>
    private sealed class NumbersByValue : IComparer<string?>
    {
        public static NumbersByValue Instance { get; } = new();

        public int Compare(string? x, string? y) => string.CompareOrdinal(Padded(x ?? ""), Padded(y ?? ""));

        private static string Padded(string text) => System.Text.RegularExpressions.Regex.Replace(text, @"\d+", m => m.Value.PadLeft(20, '0'));
    }
}
