using HilRunner.Core.Generated;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Documents;

/// <summary>
/// The schemas and tables in the repository are those that the code makes. To write them anew:
/// HIL_WRITE_GENERATED=1 dotnet test tests/HilRunner.Core.Tests --filter GeneratedFilesTests
/// </summary>
internal sealed class GeneratedFilesTests
{
    private static IEnumerable<string> Paths => GeneratedFiles.All.Keys;

    [TestCaseSource(nameof(Paths))]
    public void A_generated_file_is_what_the_code_makes(string path)
    {
        string file = Path.Combine(TestPaths.Root, path);
        string present = File.Exists(file) ? File.ReadAllText(file) : "";
        string made = GeneratedFiles.All[path](present);
        if (Environment.GetEnvironmentVariable("HIL_WRITE_GENERATED") == "1")
        {
            File.WriteAllText(file, made);
            present = made;
        }
        Assert.That(present, Is.EqualTo(made), $"{path} is out of step: run this test with HIL_WRITE_GENERATED=1 and commit the file");
    }
}
