using HilRunner.Core.Rigs;
using HilRunner.Transport.Framing;

namespace HilRunner.Transport.Tests.Framing;

public class KnownCrcsTests
{
    [Test]
    public void RigFilesMayNameExactlyTheCheckSumsThereAre() => Assert.That(CrcModel.All.Select(m => m.Name), Is.EquivalentTo(KnownCrcs.Names));
}
