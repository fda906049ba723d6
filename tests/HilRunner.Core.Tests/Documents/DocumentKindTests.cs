using HilRunner.Core.Documents;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Documents;

internal sealed class DocumentKindTests
{
    [TestCase("# a bench\nrig: bench-1\n", DocumentType.Rig)]
    [TestCase("scenario: s\n", DocumentType.Scenario)]
    [TestCase("suite: s\n", DocumentType.Suite)]
    public void The_first_key_tells_what_a_file_is(string text, DocumentType type)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("a.yaml"), text);
        Assert.That(DocumentKind.Of(folder.File("a.yaml")), Is.EqualTo(type));
    }

    [TestCase("model: m\n", "a.yaml:1:1: the first key model; expected rig:, scenario: or suite: as the first key")]
    [TestCase("[1]\n", "a.yaml:1:1: a list; expected rig:, scenario: or suite: as the first key")]
    public void Other_files_are_refused(string text, string end)
    {
        using var folder = TestPaths.NewFolder();
        File.WriteAllText(folder.File("a.yaml"), text);
        Assert.That(Assert.Throws<BadInputException>(() => DocumentKind.Of(folder.File("a.yaml")))!.Message, Does.EndWith(end));
    }
}
