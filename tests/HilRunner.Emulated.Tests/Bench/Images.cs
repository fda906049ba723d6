using System.Collections.Concurrent;
using HilRunner.Testing;

namespace HilRunner.Emulated.Tests.Bench;

/// <summary>What an image is built from: the options of rigs/emulated/build.</summary>
internal sealed record ImageSpec
{
    /// <summary>parcel, activity, or the path of a table made by MakeTable.</summary>
    public string Model { get; init; } = "parcel";
    public string Protocol { get; init; } = "lines";
    public string? Defect { get; init; }
    public string Version { get; init; } = "1.0.0";
    public int ThinkMs { get; init; }
    /// <summary>Further options, as they are.</summary>
    public string Further { get; init; } = "";
}

/// <summary>Firmware images and tables, each built once in a test run, in a folder that goes with it.</summary>
internal static class Images
{
    private static readonly ConcurrentDictionary<ImageSpec, Lazy<string>> s_images = new();
    private static readonly ConcurrentDictionary<string, Lazy<string>> s_tables = new();
    private static readonly Lazy<TemporaryFolder> s_folder = new(() => TestPaths.NewFolder("emulated"));

    /// <summary>Folder of this test run: every emulator's command line names it.</summary>
    public static string Folder => s_folder.Value.Path;

    private static string Rig(string name) => Path.Combine(TestPaths.Root, "rigs", "emulated", name);

    /// <summary>Path of the image; fails the test with what the build said where it cannot be built.</summary>
    public static string Get(ImageSpec spec) => s_images.GetOrAdd(spec, s => new(() => Build(s, Path.Combine(Folder, $"image-{s_images.Count}.elf")))).Value;

    public static string Build(ImageSpec spec, string path)
    {
        string[] arguments =
        [
            "--model", spec.Model, "--protocol", spec.Protocol, "--version", spec.Version, "--out", path,
            .. spec.Defect is { } defect ? new[] { "--defect", defect } : [],
            .. spec.ThinkMs > 0 ? new[] { "--think", spec.ThinkMs.ToString(System.Globalization.CultureInfo.InvariantCulture) } : [],
            .. spec.Further.Split(' ', StringSplitOptions.RemoveEmptyEntries),
        ];
        Tool.Run(60, Rig("build"), arguments);
        return path;
    }

    /// <summary>The table of a model that is given as text; by name, so that it is made once.</summary>
    public static string Table(string name, string modelText) => s_tables.GetOrAdd(name, _ => new(() =>
    {
        string model = Path.Combine(Folder, name + ".yaml"), table = Path.Combine(Folder, name + ".h");
        File.WriteAllText(model, modelText);
        Tool.Run(300, "dotnet", "run", Rig("MakeTable.cs"), "--", model, table);
        return table;
    })).Value;

    public static void Remove()
    {
        if (s_folder.IsValueCreated) { s_folder.Value.Dispose(); }
    }
}
