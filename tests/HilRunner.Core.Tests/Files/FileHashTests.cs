using HilRunner.Core.Files;
using HilRunner.Testing;

namespace HilRunner.Core.Tests.Files;

public class FileHashTests
{
    /// <summary>FIPS 180-4, the examples of one and of two blocks.</summary>
    [TestCase("abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad")]
    [TestCase("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1")]
    public void Gives_the_published_digest(string content, string digest)
    {
        using var folder = TestPaths.NewFolder();
        string path = folder.File("x");
        File.WriteAllText(path, content);
        Assert.That(FileHash.Sha256(path), Is.EqualTo(digest));
    }
}
