using HilRunner.Core.Files;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Core.Scenarios;
using HilRunner.Core.Signals.Transforms;

namespace HilRunner.Cli.Importing;

/// <summary>
/// Transforms applied to what an import makes: the same ones, with the same maths, as beside play in a scenario. Each recording is held whole while it
/// is transformed; what is written computes new numbers, so the log's digits are kept no longer.
/// </summary>
internal sealed record AppliedTransforms(IReadOnlyList<MotionTransform> Transforms, IReadOnlyList<string> Said, string BaseFolder, ulong Seed)
{
    /// <summary>Of a file of transforms.</summary>
    private const long MostBytes = 1_000_000;

    /// <param name="values">Each a file with a list of transforms, or one transform such as <c>rotate: {z: 90 deg}</c>.</param>
    /// <returns>Null: none.</returns>
    /// <exception cref="Core.BadInputException">One cannot be read.</exception>
    public static AppliedTransforms? Of(string[] values, ulong seed)
    {
        if (values.Length == 0) { return null; }
        var transforms = new List<MotionTransform>();
        var said = new List<string>();
        string folder = ".";
        foreach (string value in values)
        {
            bool file = File.Exists(value);
            if (file) { folder = Path.GetDirectoryName(Path.GetFullPath(value))!; }
            transforms.AddRange(file ? TransformList.Read(value) : TransformList.Parse(value.TrimStart().StartsWith('[') ? value : $"- {value}", "--apply"));
            said.Add(file ? OneLine(GivenFile.ReadText(value, MostBytes)) : value);
        }
        return new(transforms, said, folder, seed);
    }

    /// <summary>Writes what the survey planned, transformed. Nothing is at its place before all of it is made.</summary>
    /// <exception cref="Core.BadInputException">A recording cannot be transformed so.</exception>
    /// <exception cref="IOException">A file cannot be written.</exception>
    public void Write(ImportSurvey survey)
    {
        var destination = survey.Destination;
        PlainFile.CreateFolder(destination.Folder);
        string made = Path.Combine(destination.Folder, $".import-{Environment.ProcessId}"), raw = Path.Combine(made, "raw");
        try
        {
            RecordingImport.Write(survey with { Destination = destination with { Folder = raw } });
            string extension = destination.Parquet ? ".parquet" : ".csv";
            foreach (var planned in survey.Recordings)
            {
                string name = planned.Name + extension;
                var recording = RecordingFile.Read(Path.Combine(raw, name));
                recording = RecordingTransform.Apply(recording, Transforms, Seed, BaseFolder, out _);
                RecordingFile.Write(Path.Combine(made, name), recording with { Info = recording.Info with { Provenance = Provenance(recording.Info.Provenance) } });
            }
            // Labels of a recording that is replaced do not stay beside one that has none.
            if (!destination.Parquet) { foreach (var planned in survey.Recordings) { File.Delete(Path.Combine(destination.Folder, planned.Name + ".labels.csv")); } }
            foreach (string file in Directory.GetFiles(made)) { File.Move(file, Path.Combine(destination.Folder, Path.GetFileName(file)), overwrite: true); }
        }
        finally { if (Directory.Exists(made)) { Directory.Delete(made, recursive: true); } }
    }

    private string Provenance(string? before) =>
        (before is null ? "" : before + "; ") + FormattableString.Invariant($"transformed on import: {string.Join(", then ", Said)}; seed {Seed}");

    private static string OneLine(string text) => string.Join(' ', text.Split(['\r', '\n'], StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Where(l => !l.StartsWith('#')));
}
