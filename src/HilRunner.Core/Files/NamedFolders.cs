using System.Collections.Immutable;

namespace HilRunner.Core.Files;

/// <summary>
/// The paths that the person named in this call. They may be, or lie behind, links; what is inside them is data, and no link
/// there is followed (<see cref="PlainFile"/>).
/// </summary>
public static class NamedFolders
{
    private static ImmutableHashSet<string> s_named = ImmutableHashSet.Create<string>(StringComparer.Ordinal);

    /// <summary>A path of the command line, or the default of an option. What can be no path is passed over.</summary>
    public static void Add(string path)
    {
        if (string.IsNullOrEmpty(path) || path.Contains('\0')) { return; }
        ImmutableInterlocked.Update(ref s_named, (named, full) => named.Add(full), Full(path));
    }

    /// <summary>Whether the person named exactly this.</summary>
    internal static bool Has(string path) => s_named.Contains(Full(path));

    /// <summary>The deepest named folder that holds the path; null: the path is below none.</summary>
    internal static string? Above(string path)
    {
        for (string? folder = Path.GetDirectoryName(Full(path)); folder is not null; folder = Path.GetDirectoryName(folder))
        {
            if (s_named.Contains(folder)) { return folder; }
        }
        return null;
    }

    internal static string Full(string path) => Path.TrimEndingDirectorySeparator(Path.GetFullPath(path));
}
