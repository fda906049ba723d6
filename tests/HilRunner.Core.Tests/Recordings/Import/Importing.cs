using System.Text;
using HilRunner.Core.Recordings;
using HilRunner.Core.Recordings.Import;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Recordings.Import;

/// <summary>Imports a text as the command does: survey, write, read back.</summary>
internal sealed class Importing : IDisposable
{
    private readonly TemporaryFolder _folder = TestPaths.NewFolder();

    public string Out => _folder.File("out");

    public string File(string name, string text, Encoding? encoding = null)
    {
        System.IO.File.WriteAllText(_folder.File(name), text, encoding ?? new UTF8Encoding(false));
        return _folder.File(name);
    }

    /// <param name="yaml">The map without its first line.</param>
    public ImportMap Map(string yaml) => ImportMapFile.Read(File("map.yaml", "import: test\n" + yaml));

    public ImportSurvey Survey(string path, string yaml, bool parquet = false) => RecordingImport.Survey(path, Map(yaml), new(Out, null, parquet));

    public IReadOnlyList<Recording> Import(string path, string yaml, bool parquet = false) => Written(Survey(path, yaml, parquet));

    public IReadOnlyList<Recording> ImportText(string text, string yaml, string name = "log.csv") => Import(File(name, text), yaml);

    public static IReadOnlyList<Recording> Written(ImportSurvey survey)
    {
        RecordingImport.Write(survey);
        return [.. survey.Files.Where(f => !f.EndsWith(".yaml", StringComparison.Ordinal) && !f.EndsWith(".labels.csv", StringComparison.Ordinal)).Select(RecordingFile.Read)];
    }

    public void Dispose() => _folder.Dispose();
}
