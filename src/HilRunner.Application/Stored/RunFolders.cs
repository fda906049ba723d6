using System.Globalization;
using HilRunner.Core.Files;
using HilRunner.Core;
using HilRunner.Core.Runs;

namespace HilRunner.Application.Stored;

/// <summary>Finds stored runs.</summary>
internal static class RunFolders
{
    /// <summary>The number that a run's folder begins with, counted in the order in which they were begun; 0: it has none.</summary>
    public static int NumberOf(string folder) => int.TryParse(Path.GetFileName(folder).Split('-')[0], NumberStyles.None, CultureInfo.InvariantCulture, out int n) ? n : 0;

    /// <summary>The runs directly below a folder, in the order in which they were begun.</summary>
    /// <exception cref="BadInputException">One of them is a link: a run that is left out must not go unsaid.</exception>
    public static IReadOnlyList<string> In(string folder)
    {
        if (!Directory.Exists(folder)) { return []; }
        var runs = Directory.EnumerateDirectories(folder).Where(d => File.Exists(Path.Combine(d, RunFiles.Manifest)))
            .OrderBy(NumberOf).ThenBy(d => d, StringComparer.Ordinal).ToList();
        var links = runs.Where(PlainFile.IsLink)
            .Select(l =>
                new Fault(l, 0, 0, "a link", "the folder of a run",
                    "inside a folder that you name, no link is followed: name what it leads to as well, or put it in its place"))
                    .ToList();
        return links.Count > 0 ? throw new BadInputException(links) : runs;
    }

    /// <summary>The batches directly below a folder; links, such as one to the newest, are passed over.</summary>
    public static IEnumerable<string> Batches(string root) =>
        Directory.Exists(root)
        ? Directory.EnumerateDirectories(root).Where(d => BatchRecord.IsIn(d) && !PlainFile.IsLink(d)) : [];

    /// <summary>The given folders where they are runs, else the runs directly below them, in the order in which they were begun.</summary>
    /// <exception cref="BadInputException">A folder is neither.</exception>
    public static IReadOnlyList<string> Under(IReadOnlyList<string> paths)
    {
        var found = new List<string>();
        var faults = new List<Fault>();
        foreach (string path in paths)
        {
            if (File.Exists(Path.Combine(path, RunFiles.Manifest))) { found.Add(path); continue; }
            var below = In(path);
            if (below.Count == 0)
            {
                faults.Add(new(path, 0, 0, Directory.Exists(path) ? $"a folder without a {RunFiles.Manifest}" : "no such folder",
                    "the folder of a run, or of a batch of runs", "hil run prints where it puts them"));
            }
            found.AddRange(below);
        }
        return faults.Count > 0 ? throw new BadInputException(faults) : found;
    }
}
